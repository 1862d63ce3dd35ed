// A page that answers a form: the way back to it asks for the page of its form anew. A browser
// keeps nothing of ours, and would ask whether to send the form once more, or show nothing at all.
const form = document.querySelector("meta[name=by-get]").content;
for (const one of document.querySelectorAll("form:not([action])")) one.action = location.href;
history.replaceState(history.state, "", form);
