/**
 * Shows another page of the portal in place of this one and keeps this one's scripts running: a
 * file that was chosen here can be sent and played there. `visit(url)`; links say `data-visit`.
 */
function missing(incoming, name, attribute) {
  const has = new Set([...document.head.querySelectorAll(name)].map((one) => one.getAttribute(attribute)));
  return [...incoming.head.querySelectorAll(name)].filter((one) => !has.has(one.getAttribute(attribute)));
}

export async function visit(url) {
  const answer = await fetch(url, { credentials: "same-origin" });
  if (!answer.ok) return location.assign(url);
  const incoming = new DOMParser().parseFromString(await answer.text(), "text/html");
  const main = incoming.querySelector("main");
  const styles = missing(incoming, "link[rel=stylesheet]", "href");
  const print = document.head.querySelector("link[rel=stylesheet]:last-of-type");
  for (const style of styles) print.before(document.importNode(style));
  const scripts = missing(incoming, "script[type=module]", "src");
  document.title = incoming.title;
  document.body.className = incoming.body.className;
  document.querySelector("main").replaceWith(document.adoptNode(main));
  history.pushState({ visited: true }, "", answer.url);
  await Promise.all(scripts.map((script) => import(script.getAttribute("src"))));
  globalThis.htmx?.process(main);
  scrollTo(0, 0);
  main.focus({ preventScroll: true });
}

addEventListener("popstate", () => location.reload());
addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-visit]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  visit(link.href);
});
