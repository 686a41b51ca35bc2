/**
 * <portal-offline data-worker data-keep>: has the browser run our worker beside the pages, and asks
 * it to fetch ahead what is needed without a connection on pages that are made for a phone. Tells
 * there where that is not possible, and when a newer version waits; it is never changed under the hands.
 */
const KEEP_EVERY_MS = 10 * 60 * 1000;

customElements.define("portal-offline", class extends HTMLElement {
  connectedCallback() {
    this.isPhone = document.body.classList.contains("phone");
    if (!window.isSecureContext && this.isPhone) this.tell("insecure");
    else if (navigator.serviceWorker) this.begin().catch(() => {});
  }

  tell(name) {
    this.hidden = false;
    this.querySelector(`[data-line="${name}"]`).hidden = false;
  }

  async begin() {
    // What came before the worker was there has not passed through its hands.
    const missed = navigator.serviceWorker.controller ? [] : this.here();
    const registration = await navigator.serviceWorker.register(this.dataset.worker, { updateViaCache: "none" });
    this.watch(registration);
    this.addEventListener("click", (event) => event.target.closest("[data-act=use]") && this.use(registration));
    const { active } = await navigator.serviceWorker.ready;
    await this.keep(active, missed);
  }

  /** This page with its parts, of which the worker keeps those that work without a connection. */
  here() {
    const parts = [...document.querySelectorAll("[hx-get]")].map((one) => one.getAttribute("hx-get"));
    return [location.pathname + location.search, ...parts];
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

  async keep(active, missed) {
    const { person } = document.body.dataset;
    const { pages, clips } = await this.ahead(person);
    if (!pages.length && !missed.length) return;
    const heard = new MessageChannel();
    heard.port1.onmessage = () => {
      if (pages.length) sessionStorage.setItem(markOf(person), String(Date.now()));
      this.dataset.kept = "";
    };
    active.postMessage({ keep: { pages: [...missed, ...pages], clips, person } }, [heard.port2]);
  }

  /** Asked for each time on Today's page, whose clips are what changes. */
  async ahead(person) {
    const nothing = { pages: [], clips: [] };
    const last = Number(sessionStorage.getItem(markOf(person)) ?? 0);
    if (!this.isPhone || (Date.now() - last < KEEP_EVERY_MS && location.pathname !== "/today/")) return nothing;
    const answer = await fetch(this.dataset.keep, { headers: { Accept: "application/json", "X-Person": person } });
    return answer.ok && !answer.redirected ? answer.json() : nothing;
  }
});

const markOf = (person) => `kept-ahead:${person}`;
