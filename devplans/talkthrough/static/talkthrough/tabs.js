/** Tabs of one browser know of each other what is being recorded; where it can tell them. */

/** Is this talk being recorded in a tab? */
export async function isBusy(talk) {
  const { held = [] } = await navigator.locks?.query() ?? {};
  return held.some(({ name }) => name === `talk:${talk}`);
}

/** Tells other tabs that this talk is being recorded here; resolves to what ends that. */
export function busy(talk) {
  return new Promise((resolve) => {
    if (!navigator.locks) return resolve(() => {});
    navigator.locks.request(`talk:${talk}`, () => new Promise((free) => { resolve(free); }));
    return undefined;
  });
}
