// The station on a poor network. Every page works without this script; it adds that two phones
// see the same within two seconds, that a confirmation is kept until it is through, and that what
// is old is shown as old. A confirmation carries the number of the last event its page had seen:
// sent twice, it counts once.
const KEPT = "station-kept"; // numbers and a word of the page's own; no names
const COPIES = "station-copies";
const SIGNED = "Settingsdesk-Station"; // the header that script and desk know each other by
const EVERY_MS = 1000, HIDDEN_MS = 15000, SLOWEST_MS = 5000, PATIENCE_MS = 8000, WHOLE_MS = 30000;
const STALE_MS = 5000; // without an answer for so long, what is shown may be old
const HELD_MS = 700; // a press so soon after a page was meant for the one before it
const CONFIRMS = "button[form=confirm], form[data-kept] button";

const station = () => document.querySelector(".station") ?? document.querySelector("main");
const first = station().dataset;
const NOW = new URL("now", new URL(first.latest || "/", location.href)).href;
const isCopy = Boolean(document.querySelector(".copy:not([hidden])"));
let inTouchAt = first.at, touchedMs = isCopy ? 0 : Date.now(), loadedMs = touchedMs;
let failures = 0, keptSince = 0, sending = false, retried = false, timer = 0, inMemory = null;
let asked = 0; // pages asked for so far: only the answer to the latest is shown
let asking = 0, unanswered = false; // which of them somebody waits for; that none came
let outdatedMs = 0; // since when it is known that something else would be shown now
let pressed = null; // for phones that do not say which button sends a form

function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)) ?? inMemory; } catch { return inMemory; }
}

function keep(one) {
  keptSince = Date.now();
  inMemory = one; // for a browser that lets no page keep anything
  try { localStorage.setItem(KEPT, JSON.stringify(one)); } catch { /* see above */ }
}

// Another page on this phone may have been answered first, and keep the next one by now.
function dropSent(one) {
  if (JSON.stringify(kept()) === JSON.stringify(one)) drop();
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
  try { await clear(); } finally { location.replace(NOW); } // the desk says there why
}

async function load(address = NOW, settings = {}) {
  const turn = ++asked;
  const answer = await ask(address, settings);
  if (isOut(answer)) return putOut();
  if (turn === asked) swap(answer.text, settings.method && "card");
}

// Takes over the page that came, by itself or by a "card" or a "press". Whoever types on a card goes
// on typing, unless it was just sent: a hand-held reader then finds the field ready for the next one.
function swap(text, by) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const [fresh, before] = [page.querySelector("main"), document.querySelector("main")];
  const [now, then] = [fresh, before].map((one) => one?.querySelector(".station[data-state]")?.dataset);
  if (!now) return location.replace(NOW); // a page of another kind
  const typed = before.querySelector("#card")?.value;
  const focused = before.contains(document.activeElement) ? document.activeElement : null;
  if (!by) unfold(before, fresh);
  if (by || now.state !== then?.state || now.card !== then?.card) hold(fresh);
  before.replaceWith(fresh);
  document.title = page.title;
  const box = focused?.id === "card" && fresh.querySelector("#card");
  if (box && by !== "card") box.value = typed;
  if (focused) (box || fresh).focus({ preventScroll: true });
  if (box && by === "card") box.select();
  loadedMs = Date.now();
  [outdatedMs, unanswered] = [0, false];
  touched(station().dataset.at);
  show();
}

// What somebody has opened and chosen stays so while others confirm; whom they chose may be gone.
function unfold(before, fresh) {
  const [who, list] = [before.querySelector("#who"), fresh.querySelector("#who")];
  const stays = who && list && [...list.options].some((one) => one.value === who.value);
  if (stays) list.value = who.value;
  before.querySelectorAll("details[open]").forEach(({ id }) => {
    const same = fresh.querySelector(`#${id}`);
    if (same && (!who || stays || !same.contains(list))) same.open = true;
  });
}

// A page comes under the finger that presses on the one before, or that presses twice.
function hold(page) {
  const buttons = page.querySelectorAll(CONFIRMS);
  const able = (is) => buttons.forEach((one) => { one.disabled = !is; });
  able(false);
  setTimeout(able, HELD_MS, true);
}

function touched(at) {
  [failures, inTouchAt, touchedMs] = [0, at, Date.now()];
}

async function look() {
  const answer = await ask(first.latest);
  if (isOut(answer)) return putOut();
  if (answer.status !== 200) throw new Error("no answer to that");
  const { state, at } = JSON.parse(answer.text);
  touched(at);
  const { state: shown, card } = station().dataset;
  if (state !== shown) outdatedMs = outdatedMs || Date.now();
  if (asking) return; // what somebody waits for is newer
  // What was said of a card stays until it is read; it is marked as old.
  if ((outdatedMs && card === undefined) || Date.now() - loadedMs > WHOLE_MS) await load();
}

async function send() {
  const sent = kept(), turn = ++asked;
  const { page, ...one } = sent;
  const csrf_token = document.querySelector("input[name=csrf_token]").value;
  const answer = await ask(page, { method: "POST", body: new URLSearchParams({ ...one, csrf_token }) });
  if (isOut(answer)) return putOut();
  if (answer.status === 400 && !retried) { // the page was of another session
    retried = true;
    return load();
  }
  retried = false;
  dropSent(sent); // there was an answer: it is through, or was refused
  if (turn === asked) swap(answer.text, "press");
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
  const late = (since) => since && Date.now() - since > EVERY_MS;
  const outdated = "card" in here.dataset ? outdatedMs : late(outdatedMs);
  const old = stale || outdated || (waits && late(keptSince || 1));
  here.classList.toggle("old", Boolean(old));
  here.classList.toggle("waits", Boolean(waits));
  const words = [];
  if (stale) {
    words.push(`Not in touch since ${inTouchAt}. What stands here is as of ${here.dataset.at} and may be`
      + " old: set nothing by it. Look again later, or use the printed crew sheet.");
  } else if (outdated) {
    words.push(`Something has happened since ${here.dataset.at}: set nothing by what stands here.`);
  }
  if (unanswered) words.push("What you last asked for did not come: scan or press it once more.");
  if (waits && old) {
    words.push("What you confirmed is not through yet. It is kept on this phone and sent as soon as"
      + " there is a network: confirm nothing else.");
  }
  if (lost.textContent !== words.join(" ")) lost.textContent = words.join(" ");
  lost.hidden = !words.length;
  touch.textContent = asking ? "Asking the desk …"
    : `In touch at ${inTouchAt}. This page is from ${here.dataset.at}.`;
  touch.hidden = stale && !asking;
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
  const turn = asked + 1;
  [asking, unanswered] = [turn, false];
  show();
  try { await load(address, settings); } catch { failures += 1; unanswered = asking === turn; }
  if (asking === turn) asking = 0;
  show();
}

// The answer about one card must not stand there while the next one is held out.
function forgetVerdict() {
  const said = station().querySelector("[data-verdict]");
  if (!said) return;
  said.remove();
  document.querySelector("h1").textContent = "A card";
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
    if ("kept" in form.dataset) {
      event.preventDefault();
      confirmed(form, event.submitter || pressed);
    } else if ("swap" in form.dataset) {
      event.preventDefault();
      const body = new URLSearchParams(new FormData(form));
      forgetVerdict();
      swapTo(form.action, { method: "POST", body });
    }
  });
  document.addEventListener("click", (event) => {
    pressed = event.target.closest("button");
    const link = event.target.closest("a[data-swap]");
    if (!link) return;
    event.preventDefault();
    swapTo(link.href);
  });
  document.addEventListener("visibilitychange", () => { show(); tick(); });
  addEventListener("online", tick);
  setInterval(show, EVERY_MS); // also while an answer is waited for, and after the phone slept
  timer = setTimeout(tick, EVERY_MS);
  hold(document);
  show();
  if (first.worker) keepCopies().catch(() => {});
}
