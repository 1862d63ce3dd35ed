// Reads a card's square code by this phone's camera, where the browser does that itself and lets a
// page have the camera: over https. Everywhere else the card is typed, or read by a hand-held reader.
const EVERY_MS = 150;
let box = null, stream = null, timer = 0;

function made(name, words, settings = {}) {
  return Object.assign(document.createElement(name), { textContent: words, ...settings });
}

// The page is swapped as others confirm: the button comes back with each, the box stands outside.
function offer() {
  const form = document.querySelector("form[data-by-camera]");
  if (!form || form.querySelector("button:disabled, .by-camera")) return; // a kept copy is dead
  const words = JSON.parse(form.dataset.byCamera);
  const button = made("button", words.scan, { type: "button", className: "button plain by-camera" });
  button.addEventListener("click", () => begin(words));
  form.append(button);
}

async function begin(words) {
  stop();
  const [video, said] = [made("video", "", { muted: true, playsInline: true }), made("p", words.hold)];
  const cancel = made("button", words.cancel, { type: "button", className: "button large" });
  const mine = box = made("div", "", { className: "scanning" });
  box.setAttribute("role", "dialog");
  box.setAttribute("aria-label", words.scan);
  said.setAttribute("aria-live", "polite");
  box.append(video, said, cancel);
  document.body.append(box);
  cancel.addEventListener("click", stop);
  cancel.focus();
  try {
    const detector = new self.BarcodeDetector({ formats: ["qr_code"] });
    const found = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    if (mine !== box) return found.getTracks().forEach((track) => track.stop());
    video.srcObject = stream = found;
    await video.play();
    look(detector, video, mine);
  } catch {
    said.textContent = words.no;
  }
}

async function look(detector, video, mine) {
  const codes = await detector.detect(video).catch(() => []); // no picture yet
  if (mine !== box) return;
  if (codes.length) return send(codes[0].rawValue);
  timer = setTimeout(() => look(detector, video, mine), EVERY_MS);
}

function send(text) {
  stop();
  const field = document.querySelector("#card");
  field.value = text;
  field.form.querySelector("button:not([type])").click();
}

function stop() {
  clearTimeout(timer);
  stream?.getTracks().forEach((track) => track.stop());
  box?.remove();
  [box, stream] = [null, null];
}

if ("BarcodeDetector" in self && navigator.mediaDevices?.getUserMedia) {
  addEventListener("keydown", ({ key }) => { if (key === "Escape") stop(); });
  addEventListener("pagehide", stop);
  new MutationObserver(offer).observe(document.body, { childList: true });
  offer();
}
