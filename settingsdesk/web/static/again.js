// A page that shows how far something is: looks again by itself while it is in sight.
const looking = setInterval(() => {
  if (document.visibilityState !== "visible") return;
  clearInterval(looking); // an answer that takes longer than that is waited for
  location.reload();
}, 2000);

// What is pressed is answered by a page of its own: loading this one would cut that off.
document.addEventListener("submit", () => clearInterval(looking));
