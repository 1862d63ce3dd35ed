// Unfolds the remark of an item where something was seen; what was unfolded stays so.
document.addEventListener("change", ({ target }) => {
  if (target.matches(".as-note input, .as-withdraw input")) {
    target.closest(".check-item").querySelector("details").open = true;
  }
});
