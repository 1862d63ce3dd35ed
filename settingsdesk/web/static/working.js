// From the press until the next page is there: what is being done, and since when.
for (const form of document.querySelectorAll("form[data-working]")) {
  const told = document.createElement("div");
  told.className = "working";
  told.setAttribute("role", "status");
  form.append(told);
  let ticking;

  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented || told.hasChildNodes()) return;
    const words = document.createElement("p");
    const bar = document.createElement("progress");
    const since = document.createElement("span");
    const begun = Date.now();
    bar.setAttribute("aria-label", form.dataset.working);
    since.setAttribute("aria-hidden", "true"); // not to be read out each second
    words.append(`${form.dataset.working} `, since);
    told.append(words, bar);
    ticking = setInterval(() => {
      since.textContent = `${Math.round((Date.now() - begun) / 1000)} s`;
    }, 1000);
  });

  // Who comes back by the browser's own way finds the page as it was before the press.
  window.addEventListener("pageshow", () => {
    clearInterval(ticking);
    told.replaceChildren();
  });
}
