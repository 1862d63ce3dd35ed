// Ignores a second press while the first is on its way; the desk itself is safe against both.
const sent = new WeakSet();

document.addEventListener("submit", (event) => {
  if (event.target.method !== "post") return;
  if (sent.has(event.target)) {
    event.preventDefault();
    return;
  }
  sent.add(event.target);
  setTimeout(() => sent.delete(event.target), 4000);
});
