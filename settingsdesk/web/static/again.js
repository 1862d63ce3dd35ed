// A page that shows how far something is: looks again by itself while it is in sight.
setInterval(() => {
  if (document.visibilityState === "visible") location.reload();
}, 2000);
