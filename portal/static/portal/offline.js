/**
 * <portal-offline data-worker data-keep>: on pages that are made for a phone it has the browser run
 * our worker beside them, and asks it to fetch ahead what is needed without a connection. Tells
 * where that is not possible, and when a newer version waits; it is never changed under the hands.
 */
const KEEP_EVERY_MS = 10 * 60 * 1000;

customElements.define("portal-offline", class extends HTMLElement {
  connectedCallback() {
    if (!document.body.classList.contains("phone")) return;
    if (!window.isSecureContext) this.tell("insecure");
    else if (navigator.serviceWorker) this.begin().catch(() => {});
  }

  tell(name) {
    this.hidden = false;
    this.querySelector(`[data-line="${name}"]`).hidden = false;
  }

  async begin() {
    const registration = await navigator.serviceWorker.register(this.dataset.worker, { updateViaCache: "none" });
    this.watch(registration);
    this.addEventListener("click", (event) => event.target.closest("[data-act=use]") && this.use(registration));
    const { active } = await navigator.serviceWorker.ready;
    navigator.storage?.persist?.().catch(() => {});
    await this.keep(active);
  }

  watch(registration) {
    const heard = () => registration.waiting && navigator.serviceWorker.controller && this.tell("update");
    heard();
    registration.addEventListener("updatefound", () => {
      registration.installing?.addEventListener("statechange", heard);
    });
  }

  use(registration) {
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    registration.waiting?.postMessage({ use: "new" });
  }

  /** Today's page is asked for each time: its clips are what changes. */
  async keep(active) {
    const { person } = document.body.dataset;
    const mark = `kept-ahead:${person}`;
    const last = Number(sessionStorage.getItem(mark) ?? 0);
    if (Date.now() - last < KEEP_EVERY_MS && location.pathname !== "/today/") return;
    const answer = await fetch(this.dataset.keep, { headers: { Accept: "application/json", "X-Person": person } });
    if (!answer.ok || answer.redirected) return;
    const wanted = await answer.json();
    const heard = new MessageChannel();
    heard.port1.onmessage = () => {
      sessionStorage.setItem(mark, String(Date.now()));
      this.dataset.kept = "";
    };
    active.postMessage({ keep: { ...wanted, person } }, [heard.port2]);
  }
});
