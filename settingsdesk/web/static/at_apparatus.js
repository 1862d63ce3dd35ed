// A run on a poor network, on the coach's page and on the station's. Every page works without this
// script; it adds that two phones see the same within two seconds, that a confirmation is kept until
// it is through, and that what is old is shown as old. A confirmation carries the number of the last
// event its page had seen: sent twice, it counts once. It carries, too, when it was pressed, by the
// desk's clock: a check counts only at once.
const HEADER = "Settingsdesk-Script"; // what script and desk know each other by
const EVERY_MS = 1000, HIDDEN_MS = 15000, SLOWEST_MS = 5000, PATIENCE_MS = 8000, WHOLE_MS = 30000;
const STALE_MS = 5000; // without an answer for so long, what is shown may be old
const HELD_MS = 700; // a press so soon after a page was meant for the one before it
const LEAVING_MS = 20000; // so long the answer to a press that leads away is waited for
const CONFIRMS = "button[form], form[data-kept] button";
const TYPED = "#card, #checker, [name=on_paper]"; // whoever types or ticks there goes on with it
const CHOICES = "select[form=confirm]"; // what goes with a confirmation

const rootOf = (page) => page.querySelector("main [data-state]");
const root = () => rootOf(document);
const first = (document.querySelector("main [data-latest], main [data-out]") ?? document.body).dataset;
const isForm = "form" in first; // somebody types here: nothing is swapped or sent under their hands
const isCopy = Boolean(document.querySelector(".copy:not([hidden])"));
const WORDS = JSON.parse(first.words ?? "{}"); // what is said here, in the language of the page
const KEPT = `kept ${first.page} ${first.who}`; // numbers and a word of the page's own; no names
const COPIES = `copies ${first.paths}`; // of all pages below that address

// One of those sentences, with what stands in its places.
function say(sentence, places = {}) {
  return WORDS[sentence].replace(/%\((\w+)\)s/g, (_, place) => places[place]);
}

// A clock that is put back makes nothing younger, and one that sleeps with its phone neither.
function mark() {
  return { steady: performance.now(), clock: Date.now() };
}

function since(then) {
  return then ? Math.max(performance.now() - then.steady, Date.now() - then.clock) : Infinity;
}

let inTouchAt = first.at, touched = isCopy ? null : mark(), loaded = touched;
let deskMs = isCopy ? 0 : Number(first.clock); // the desk's clock, as it was then
let failures = 0, keptAt = null, sending = false, timer = 0, inMemory = null, refused = "";
let signedOut = false, hasNoCopy = false;
let asked = 0; // pages asked for so far: only the answer to the latest is shown
let asking = 0, unanswered = false; // which of them somebody waits for; that none came
let outdated = null; // since when it is known that something else would be shown now
let pressed = null; // for phones that do not say which button sends a form
let leaving = null; // since when another page is on its way, by a press
let held = 0, copies = null, keeping = Promise.resolve();

function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)) ?? inMemory; } catch { return inMemory; }
}

function keep(one) {
  keptAt = mark();
  inMemory = one; // for a browser that lets no page keep anything
  try { localStorage.setItem(KEPT, JSON.stringify(one)); } catch { /* see above */ }
}

// Another page on this phone may have been answered first, and keep the next one by now.
function dropSent(one) {
  if (JSON.stringify(kept()) !== JSON.stringify(one)) return;
  inMemory = null;
  try { localStorage.removeItem(KEPT); } catch { /* see above */ }
}

// The station is over for this phone: nothing of it stays here.
async function clear() {
  try {
    Object.keys(localStorage).filter((name) => name.startsWith(`kept ${first.paths}`))
      .forEach((name) => localStorage.removeItem(name));
  } catch { /* nothing was kept */ }
  if (!("caches" in self)) return;
  await caches.delete(COPIES);
  const workers = await navigator.serviceWorker?.getRegistrations() ?? [];
  await Promise.all(workers.filter((one) => new URL(one.scope).pathname === first.paths)
    .map((one) => one.unregister()));
}

// Only the desk's own answer to this very question counts: a hall's network that first wants a name
// or a payment answers in the desk's place, and would lose what was confirmed.
async function ask(address, settings = {}) {
  const patience = new AbortController();
  const over = setTimeout(() => patience.abort(), PATIENCE_MS);
  try {
    const token = String(Math.random()).slice(2);
    const answer = await fetch(address, {
      redirect: "manual", cache: "no-store", signal: patience.signal, headers: { [HEADER]: token }, ...settings,
    });
    if (answer.status >= 500 || answer.headers.get(HEADER) !== token) throw new Error("not the desk's answer");
    signedOut = answer.status === 401;
    if (signedOut) self.caches?.delete(COPIES); // it has names; what was confirmed has none, and stays
    const policy = answer.headers.get("Content-Security-Policy");
    return { status: answer.status, text: await answer.text(), policy };
  } finally {
    clearTimeout(over);
  }
}

const isOut = (answer) => answer.status === 410; // closed, its time over, or put out

async function putOut() {
  try { await clear(); } finally { location.replace(first.page); } // the desk says there why
}

async function load(address = first.page, settings = {}) {
  const turn = ++asked;
  const answer = await ask(address, settings);
  if (isOut(answer)) return putOut();
  if (signedOut) throw new Error("nobody is signed in");
  if (turn === asked) swap(answer, settings.method && "card");
}

// Takes over the page that came, by itself or by a "card" or a "press". Whoever types goes on typing,
// unless it was just sent: a hand-held reader then finds the field ready for the next card.
function swap(answer, by) {
  const page = new DOMParser().parseFromString(answer.text, "text/html");
  const [fresh, before] = [page.querySelector("main"), document.querySelector("main")];
  const [now, then] = [page, document].map((one) => rootOf(one)?.dataset);
  if (!now) return location.replace(first.page); // a page of another kind
  const taken = by && answer.status !== 409; // what goes with a press that was refused stays, too
  const typed = taken ? [] : [...before.querySelectorAll(TYPED)];
  const focused = before.contains(document.activeElement) ? document.activeElement : null;
  if (!by) unfold(before, fresh);
  if (!by) stillSaid(before, fresh);
  before.replaceWith(fresh);
  if (by || now.state !== then?.state || now.card !== then?.card) hold();
  document.title = page.title;
  const box = focused?.matches(TYPED) && fresh.querySelector(`#${focused.id}`);
  typed.forEach(({ id, value, checked }) => {
    Object.assign(fresh.querySelector(`#${id}`) ?? {}, { value, checked });
  });
  if (focused) (box || fresh).focus({ preventScroll: true });
  if (box && by === "card") box.select();
  loaded = mark();
  [outdated, unanswered] = [null, false];
  inTouch(now);
  show();
  if (copies) keepNext(answer);
}

function keepNext(answer) {
  keeping = keeping.then(() => keepCopy(answer)).catch(sayThereIsNone);
}

// What somebody has opened and chosen stays so while others confirm; whom they chose may be gone.
function unfold(before, fresh) {
  const [who, list] = [before.querySelector("#who"), fresh.querySelector("#who")];
  const stays = who && list && [...list.options].some((one) => one.value === who.value);
  if (stays) list.value = who.value;
  before.querySelectorAll("details[open][id]").forEach(({ id }) => {
    const same = fresh.querySelector(`#${id}`);
    if (same && (!who || stays || !same.contains(list))) same.open = true;
  });
}

// That a press was refused stays until the next one: nobody may be looking just now.
function stillSaid(before, fresh) {
  const said = before.querySelector(".banner");
  if (said && !fresh.querySelector(".banner")) rootOf(fresh.ownerDocument).prepend(said);
}

// A page comes under the finger that presses on the one before, or that presses twice.
function hold() {
  held += 1;
  setTimeout(() => { held -= 1; show(); }, HELD_MS);
}

function inTouch({ at, clock }) {
  [failures, inTouchAt, touched, deskMs] = [0, at, mark(), Number(clock)];
}

async function look() {
  const answer = await ask(first.latest);
  if (isOut(answer)) return putOut();
  if (answer.status !== 200) throw new Error("no answer to that");
  const latest = JSON.parse(answer.text);
  inTouch(latest);
  const { state: shown, card } = root().dataset;
  if (latest.state !== shown) outdated = outdated ?? mark();
  if (asking || isForm) return; // what somebody waits for is newer, and what they typed stays
  // What was said of a card stays until it is read; it is marked as old.
  if ((outdated && card === undefined) || isCopyShown() || since(loaded) > WHOLE_MS) await load();
}

const isCopyShown = () => Boolean(document.querySelector(".copy:not([hidden])"));

async function send() {
  const sent = kept(), turn = ++asked;
  const { page, ...one } = sent;
  const csrf_token = document.querySelector("main input[name=csrf_token]")?.value ?? "";
  const answer = await ask(page, { method: "POST", body: new URLSearchParams({ ...one, csrf_token }) });
  if (isOut(answer)) return putOut();
  if (signedOut) throw new Error("nobody is signed in");
  if (answer.status === 400) { // the page was of another sign-in
    await load();
    throw new Error("to be sent once more");
  }
  dropSent(sent); // there was an answer: it is through, or was refused
  if (answer.status === 200 || answer.status === 409) {
    if (turn === asked) swap(answer, "press");
    return;
  }
  refused = say("refused");
  await load();
}

const isLeaving = () => leaving && since(leaving) < LEAVING_MS;

async function tick() {
  clearTimeout(timer);
  if (sending) return;
  sending = true;
  try {
    if (!isLeaving()) await (kept() && !isForm ? send() : look());
  } catch {
    failures += 1;
  }
  sending = false;
  show();
  if (!failures && kept() && !isForm && !isLeaving()) return tick(); // it was pressed while this was on its way
  const slower = failures ? Math.min(EVERY_MS * 2 ** (failures - 1), SLOWEST_MS) : EVERY_MS;
  timer = setTimeout(tick, document.visibilityState === "visible" ? slower : HIDDEN_MS);
}

function isStale() {
  return failures > 0 || since(touched) > STALE_MS;
}

function show() {
  const [here, waits, stale] = [root(), isForm ? null : kept(), isStale()];
  const lost = here?.querySelector("[data-lost]"), touch = here?.querySelector("[data-touch]");
  if (!lost) return;
  const late = (then) => then && since(then) > EVERY_MS;
  const older = isForm || "card" in here.dataset ? outdated : late(outdated);
  const old = stale || older || (waits && (!keptAt || late(keptAt)));
  here.classList.toggle("old", Boolean(old));
  here.classList.toggle("waits", Boolean(waits));
  const words = [];
  if (signedOut) {
    words.push(say("signed_out"));
  } else if (stale) {
    const minutes = touched ? Math.floor(since(touched) / 60000) : 0;
    words.push(say(minutes ? "stale_for" : "stale", { since: inTouchAt, at: here.dataset.at, minutes }));
    if (here.querySelector("[data-at-once]")) words.push(say("at_once"));
  } else if (older) {
    words.push(say(isForm ? "happened_in_form" : "happened", { at: here.dataset.at }));
  }
  if (unanswered) words.push(say("unanswered"));
  if (refused) words.push(refused);
  if (waits && old) {
    words.push(say("waits"));
  }
  if (lost.textContent !== words.join(" ")) lost.textContent = words.join(" ");
  lost.hidden = !words.length;
  touch.textContent = asking ? say("asking") : say("live", { at: inTouchAt });
  touch.hidden = stale && !asking;
  here.querySelectorAll("[data-since]").forEach((one) => { one.hidden = !older; });
  here.querySelectorAll("[data-plain]").forEach((one) => { one.hidden = !hasNoCopy; });
  // What was kept is dead in a copy; a check counts only at once, so not while nobody hears of it.
  here.querySelectorAll(CONFIRMS).forEach((one) => {
    one.disabled = held > 0 || (stale && "atOnce" in one.dataset);
  });
  here.querySelectorAll(CHOICES).forEach((one) => { one.disabled = false; });
}

function confirmed(form, button) {
  if (kept()) return; // one at a time
  const fields = {}; // put together so that phones of some years ago can, too
  new FormData(form).forEach((value, name) => { fields[name] = value; });
  if (button && button.name) fields[button.name] = button.value;
  delete fields.csrf_token;
  const pressedMs = touched ? Math.round(deskMs + since(touched)) : 0;
  refused = "";
  keep({ ...fields, pressed: String(pressedMs), page: form.action });
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
  const said = root().querySelector("[data-verdict]");
  if (!said) return;
  said.remove();
  document.querySelector("h1").textContent = say("card");
}

// Kept by the page and not by the worker, which is not there yet when the first page's files come.
// What is shown already stays as it is: nobody's finger or eye is on the way to something else.
async function beginCopies() {
  await navigator.serviceWorker.register(first.worker);
  copies = await caches.open(COPIES);
  if (!isCopy) keepNext(await ask(first.page));
}

// The files first: a copy that is there is whole. Its buttons and links are dead until a script lives.
async function keepCopy({ text, policy }) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const here = rootOf(page);
  if (!here || "card" in here.dataset) return;
  const files = [...page.querySelectorAll("head link[href], script[src]")]
    .map((one) => one.getAttribute("href") ?? one.getAttribute("src"));
  const known = await Promise.all(files.map((one) => copies.match(one)));
  await copies.addAll(files.filter((_, place) => !known[place]));
  here.classList.add("old");
  page.querySelector(".copy").hidden = false;
  page.querySelectorAll("button, input:not([type=hidden]), select").forEach((one) => { one.disabled = true; });
  page.querySelectorAll("a[href]:not(.skip)").forEach((one) => one.removeAttribute("href"));
  const headers = { "Content-Type": "text/html; charset=utf-8" };
  if (policy) headers["Content-Security-Policy"] = policy;
  const html = `<!doctype html>${page.documentElement.outerHTML}`;
  await copies.put(new URL(first.page, location.href).pathname, new Response(html, { headers }));
  hasNoCopy = false;
}

function sayThereIsNone() {
  hasNoCopy = true;
  show();
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
    } else if (!event.defaultPrevented) {
      leaving = mark(); // its answer must not be cut off
    }
  });
  document.addEventListener("click", (event) => {
    pressed = event.target.closest("button");
    const link = event.target.closest("a[data-swap][href]");
    if (!link) return;
    event.preventDefault();
    swapTo(link.href);
  });
  const again = () => { show(); tick(); };
  document.addEventListener("visibilitychange", again);
  addEventListener("pageshow", again);
  addEventListener("online", tick);
  setInterval(show, EVERY_MS); // also while an answer is waited for, and after the phone slept
  timer = setTimeout(tick, EVERY_MS);
  hold();
  show();
  if (first.worker) beginCopies().catch(sayThereIsNone); // over plain http, for one
}
