// The focus goes on to the next key when a page is loaded again because of what was pressed on it.

const NEXT = "evenstroke focus";

/** focusNext lets the page that is loaded now begin at its next key. */
export function focusNext() {
  try {
    sessionStorage.setItem(NEXT, location.pathname + location.search);
  } catch { /* then it begins at its top */ }
}

/** takeFocus gives the focus to the next key, if the page before asked for it. */
export function takeFocus() {
  let wanted = null;
  try {
    wanted = sessionStorage.getItem(NEXT);
    sessionStorage.removeItem(NEXT);
  } catch { /* nothing was asked for */ }
  if (wanted === location.pathname + location.search) document.querySelector(".caution button, .next .primary")?.focus({ preventScroll: true });
}
