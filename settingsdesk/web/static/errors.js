// Moves the reader to what must be put right; without script the summary is still the first thing.
document.querySelector("[data-error-summary]")?.focus();
