// A code that came in the fragment of the address (as from a QR code) is put into its field. A fragment is never sent, so it stands in no
// log; it is taken out of the address at once.

export function start(form) {
  fill(form);
  addEventListener("hashchange", () => fill(form)); // the address was opened in a tab that shows this page already
}

function fill(form) {
  const code = decodeURIComponent(location.hash.slice(1));
  const field = form.elements[form.dataset.codeFromHash];
  if (!code || !field) return;
  field.value = code;
  history.replaceState(null, "", location.pathname + location.search);
}
