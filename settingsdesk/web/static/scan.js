// Reads a card's square code by this phone's camera, where the browser does that itself and gives a
// page the camera: over https. Everywhere else the card is typed, or read by a hand-held reader.
const EVERY_MS = 150;
const box = document.querySelector(".scan"), video = box.querySelector("video");

function say(what) {
  box.querySelectorAll("p").forEach((one) => { one.hidden = !(what in one.dataset); });
  video.hidden = what !== "holds";
}

async function begin() {
  try {
    const detector = new self.BarcodeDetector({ formats: ["qr_code"] });
    video.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    say("holds");
    await video.play();
    look(detector);
  } catch {
    say("refused");
  }
}

async function look(detector) {
  const codes = await detector.detect(video).catch(() => []); // no picture yet
  if (!codes.length) return setTimeout(() => look(detector), EVERY_MS);
  stop();
  const field = document.querySelector("#card");
  field.value = codes[0].rawValue;
  field.form.querySelector("button").click();
}

function stop() {
  video.srcObject?.getTracks().forEach((track) => track.stop());
}

if ("BarcodeDetector" in self && navigator.mediaDevices?.getUserMedia) {
  addEventListener("pagehide", stop);
  begin();
}
