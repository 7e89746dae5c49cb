// Light or dark, before anything is drawn: what was chosen in this browser, else what it prefers.
// No module: those run after the first picture, and a white flash at night is what dark avoids.
(() => {
  const KEY = "benchtally.light";
  const prefers = matchMedia("(prefers-color-scheme: dark)");
  const preferred = () => (prefers.matches ? "dark" : "light");
  let chosen = read();

  function read() {
    try {
      return localStorage.getItem(KEY);
    } catch {
      return null; // a browser that keeps nothing still shows everything
    }
  }

  function keep() {
    try {
      if (chosen === null) localStorage.removeItem(KEY);
      else localStorage.setItem(KEY, chosen);
    } catch {
      // then it holds until the page is left
    }
  }

  const now = () => chosen ?? preferred();
  const other = () => (now() === "dark" ? "light" : "dark");

  function show() {
    document.documentElement.dataset.light = now();
    dispatchEvent(new Event("benchtally.light"));
  }

  // What the browser prefers anyway is no choice: the page follows the day again.
  function turn() {
    const to = other();
    chosen = to === preferred() ? null : to;
    keep();
    show();
  }

  globalThis.benchtallyLight = { other, turn };
  prefers.addEventListener("change", show);
  addEventListener("storage", ({ key }) => {
    if (key !== KEY) return;
    chosen = read();
    show();
  });
  show();
})();
