// A key that prints the page.

export function start(key) {
  key.addEventListener("click", () => window.print());
}
