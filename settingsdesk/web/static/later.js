// What was still being worked out when the page was shown comes into its place when it is there.
// All else on the page stays as it is, and so does whatever is typed into it.
const FIRST_MS = 400, EVERY_MS = 1000;

async function look() {
  const here = document.querySelector("[data-later]");
  if (!here) return;
  if (document.visibilityState === "visible") {
    try {
      const answer = await fetch(location.href, { cache: "no-store" });
      if (!answer.ok || answer.redirected) return; // signed out, or the rotation is gone
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const there = page.getElementById(here.id);
      if (!there) return; // another order was made meanwhile
      if (!("later" in there.dataset)) here.replaceWith(there);
    } catch { /* no network just now: it is looked again */ }
  }
  setTimeout(look, EVERY_MS);
}

setTimeout(look, FIRST_MS);
