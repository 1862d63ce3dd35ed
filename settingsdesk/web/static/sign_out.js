// Asks before somebody leaves a phone that keeps a confirmation: it is erased with the sign-in.
const KEPT = "kept "; // how at_apparatus.js calls what it keeps
const WAYS_OUT = "form[data-asks]"; // in the page's own words

function keepsAny() {
  try { return Object.keys(localStorage).some((name) => name.startsWith(KEPT)); } catch { return false; }
}

document.addEventListener("submit", (event) => {
  if (event.target.matches(WAYS_OUT) && keepsAny() && !confirm(event.target.dataset.asks)) {
    event.preventDefault();
    event.stopImmediatePropagation(); // nothing is on its way
  }
}, true);
