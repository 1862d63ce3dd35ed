// Asks before somebody leaves a phone that keeps a confirmation: it is erased with the sign-in.
const KEPT = "kept "; // how at_apparatus.js calls what it keeps
const WAYS_OUT = "form[action$='/sign-out'], form[action$='/station/leave']";

function keepsAny() {
  try { return Object.keys(localStorage).some((name) => name.startsWith(KEPT)); } catch { return false; }
}

document.addEventListener("submit", (event) => {
  if (event.target.matches(WAYS_OUT) && keepsAny() && !confirm("Something that was confirmed at the"
    + " apparatus is kept on this phone and is not through yet. It would be lost. Leave all the same?")) {
    event.preventDefault();
    event.stopImmediatePropagation(); // nothing is on its way
  }
}, true);
