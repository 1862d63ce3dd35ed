// Two devices at one run: looks every two seconds whether something was confirmed elsewhere.
const page = document.querySelector("[data-latest]");
const line = document.querySelector("[data-in-touch]");
let touched = new Date();
let pressed = new Date(0);

// What was pressed here is answered by a page of its own: loading this one would cut that off.
document.addEventListener("submit", () => { pressed = new Date(); });
const waits = () => new Date() - pressed < 20000;

async function look() {
  if (document.visibilityState !== "visible" || waits()) return;
  try {
    const answer = await fetch(page.dataset.latest, { redirect: "error" });
    const { number } = await answer.json();
    touched = new Date();
    line.hidden = true;
    if (String(number) !== page.dataset.number && !waits()) location.reload();
  } catch {
    line.textContent = `Not in touch since ${touched.toLocaleTimeString()}: what you see may be old. `
      + "Before you set anything by it, ask or look again.";
    line.hidden = false;
  }
}

if (page) setInterval(look, 2000);
