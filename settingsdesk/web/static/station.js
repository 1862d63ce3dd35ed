// The station on a poor network. Every page works without this script; it adds that two phones
// see the same within two seconds, that a confirmation is kept until it is through, and that what
// is old is shown as old. A confirmation carries the number of the last event its page had seen:
// sent twice, it counts once.
const KEPT = "station-kept"; // numbers and a word of the page's own; no names
const COPIES = "station-copies";
const SIGNED = "Settingsdesk-Station"; // the header that script and desk know each other by
const EVERY_MS = 1000, HIDDEN_MS = 15000, SLOWEST_MS = 5000, PATIENCE_MS = 8000, WHOLE_MS = 30000;
const STALE_MS = 5000; // without an answer for so long, what is shown may be old

const station = () => document.querySelector(".station") ?? document.querySelector("main");
const first = station().dataset;
const NOW = new URL("now", new URL(first.latest || "/", location.href)).href;
const isCopy = Boolean(document.querySelector(".copy:not([hidden])"));
let inTouchAt = first.at, touchedMs = isCopy ? 0 : Date.now(), loadedMs = Date.now();
let failures = 0, keptSince = 0, sending = false, retried = false, timer = 0, inMemory = null;

function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)); } catch { return inMemory; }
}

function keep(one) {
  keptSince = Date.now();
  inMemory = one; // for a browser that lets no page keep anything
  try { localStorage.setItem(KEPT, JSON.stringify(one)); } catch { /* see above */ }
}

function drop() {
  inMemory = null;
  try { localStorage.removeItem(KEPT); } catch { /* see above */ }
}

function clear() {
  drop();
  if (!("caches" in self)) return Promise.resolve();
  const gone = navigator.serviceWorker?.getRegistrations()
    .then((all) => Promise.all(all.map((one) => one.unregister())));
  return Promise.all([caches.delete(COPIES), gone]);
}

// Only the desk's own answer counts: a hall's network that first wants a name or a payment answers
// in the desk's place, and would lose what was confirmed.
async function ask(address, settings = {}) {
  const patience = new AbortController();
  const over = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const headers = { [SIGNED]: "script" }, signal = patience.signal;
    const answer = await fetch(address, { redirect: "manual", signal, headers, ...settings });
    if (answer.status >= 500 || !answer.headers.has(SIGNED)) throw new Error("not the desk's answer");
    const text = await answer.text();
    return { status: answer.status, text };
  } finally {
    clearTimeout(over);
  }
}

const isOut = (answer) => answer.status === 410; // closed, its time over, or put out

async function putOut() {
  await clear();
  location.replace(NOW); // the desk says there why
}

async function load(address = NOW, settings = {}) {
  const answer = await ask(address, settings);
  if (isOut(answer)) return putOut();
  swap(answer.text, settings.method);
}

// Takes over the page that came. Whoever types on a card goes on typing, unless it was just sent:
// a hand-held reader then finds the field ready for the next one.
function swap(text, sent) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const [fresh, before] = [page.querySelector("main"), document.querySelector("main")];
  const typed = before.querySelector("#card")?.value;
  const focused = before.contains(document.activeElement) ? document.activeElement : null;
  before.replaceWith(fresh);
  document.title = page.title;
  const box = focused?.id === "card" && fresh.querySelector("#card");
  if (box && !sent) box.value = typed;
  if (focused) (box || fresh).focus({ preventScroll: true });
  if (box && sent) box.select();
  loadedMs = Date.now();
  touched(station().dataset.at || inTouchAt);
  show();
}

function touched(at) {
  [failures, inTouchAt, touchedMs] = [0, at, Date.now()];
}

async function look() {
  const answer = await ask(first.latest);
  if (isOut(answer)) return putOut();
  if (answer.status !== 200) throw new Error("no answer to that");
  const { mark, at } = JSON.parse(answer.text);
  touched(at);
  const shown = station().dataset.mark;
  if (shown && (mark !== shown || Date.now() - loadedMs > WHOLE_MS)) await load();
}

async function send() {
  const { page, ...one } = kept();
  const csrf_token = document.querySelector("input[name=csrf_token]").value;
  const answer = await ask(page, { method: "POST", body: new URLSearchParams({ ...one, csrf_token }) });
  if (isOut(answer)) return putOut();
  if (answer.status === 400 && !retried) { // the page was of another session
    retried = true;
    return load();
  }
  retried = false;
  drop(); // there was an answer: it is through, or was refused
  swap(answer.text);
}

async function tick() {
  clearTimeout(timer);
  if (sending) return;
  sending = true;
  try {
    await (kept() ? send() : look());
  } catch {
    failures += 1;
  }
  sending = false;
  show();
  if (!failures && kept()) return tick(); // it was pressed while this was on its way
  const slower = failures ? Math.min(EVERY_MS * 2 ** (failures - 1), SLOWEST_MS) : EVERY_MS;
  timer = setTimeout(tick, document.visibilityState === "visible" ? slower : HIDDEN_MS);
}

function show() {
  const [here, waits] = [station(), kept()];
  const lost = here.querySelector("[data-lost]"), touch = here.querySelector("[data-touch]");
  if (!lost) return;
  const stale = failures > 0 || Date.now() - touchedMs > STALE_MS;
  const old = stale || (waits && Date.now() - keptSince > EVERY_MS);
  here.classList.toggle("old", Boolean(old));
  here.classList.toggle("waits", Boolean(waits));
  const words = [];
  if (stale) {
    words.push(`Not in touch since ${inTouchAt}. What stands here is as of ${here.dataset.at} and may be`
      + " old: set nothing by it. Look again later, or use the printed crew sheet.");
  }
  if (waits && old) {
    words.push("What you confirmed is not through yet. It is kept on this phone and sent as soon as"
      + " there is a network: confirm nothing else.");
  }
  if (lost.textContent !== words.join(" ")) lost.textContent = words.join(" ");
  lost.hidden = !words.length;
  touch.textContent = stale ? "" : `In touch at ${inTouchAt}. This page is from ${here.dataset.at}.`;
  touch.hidden = stale;
}

function confirmed(form, button) {
  if (kept()) return; // one at a time
  const fields = {}; // put together so that phones of some years ago can, too
  new FormData(form).forEach((value, name) => { fields[name] = value; });
  if (button && button.name) fields[button.name] = button.value;
  delete fields.csrf_token;
  keep({ ...fields, page: form.action });
  show();
  scrollTo(0, 0);
  tick();
}

async function swapTo(address, settings) {
  try { await load(address, settings); } catch { failures += 1; show(); }
}

async function keepCopies() {
  if (!("serviceWorker" in navigator)) {
    const line = station().querySelector("[data-keeps]");
    if (line) line.hidden = false;
    return;
  }
  await navigator.serviceWorker.register(first.worker);
  await navigator.serviceWorker.ready;
  const files = [...document.querySelectorAll("link[rel=stylesheet], script[src]")];
  await Promise.all(files.map((one) => fetch(one.href || one.src)));
  await load();
}

if ("out" in first) {
  clear();
} else if (first.latest) {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.id === "confirm") {
      event.preventDefault();
      confirmed(form, event.submitter || document.activeElement);
    } else if ("swap" in form.dataset) {
      event.preventDefault();
      swapTo(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
    }
  });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-swap]");
    if (!link) return;
    event.preventDefault();
    swapTo(link.href);
  });
  document.addEventListener("visibilitychange", tick);
  addEventListener("online", tick);
  setInterval(show, EVERY_MS); // also while an answer is waited for, and after the phone slept
  timer = setTimeout(tick, EVERY_MS);
  show();
  if (first.worker) keepCopies().catch(() => {});
}
