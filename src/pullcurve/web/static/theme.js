// Before the first stroke is drawn: dark or light, as chosen here before or as the machine prefers.
(() => {
  let chosen = null;
  try { chosen = localStorage.getItem("pullcurve.theme"); } catch { /* a browser that keeps nothing */ }
  const dark = chosen ? chosen === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  document.documentElement.dataset.theme = dark ? "dark" : "light";
})();
