/** How somebody likes to log, remembered on this phone: no word of whom or what was logged. */
export function remembered(name) {
  try {
    return localStorage.getItem(`log:${name}`) ?? "";
  } catch {
    return "";
  }
}

export function remember(name, value) {
  try {
    localStorage.setItem(`log:${name}`, value);
  } catch {
    // a phone that keeps nothing asks again next time
  }
}
