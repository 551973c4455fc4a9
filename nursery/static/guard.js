// Asks before leaving a page whose form (data-guard) holds typing that was not sent yet, and lets a form that
// writes be sent once only: a second press while the first is under way would write everything twice.
"use strict";

// Where no answer has come after so many milliseconds, the button may be pressed again.
const PATIENCE = 20000;
let unsaved = false;
let sent = new WeakMap();

document.addEventListener("submit", (event) => {
  const form = event.target;
  // The attribute: a field named "method" hides the property.
  if (form.getAttribute("method")?.toLowerCase() !== "post") return;
  if (event.timeStamp - (sent.get(form) ?? -Infinity) < PATIENCE) event.preventDefault();
  else sent.set(form, event.timeStamp);
});

// Back on a page that the browser kept, the form may be sent anew.
window.addEventListener("pageshow", () => { sent = new WeakMap(); });

document.addEventListener("input", (event) => {
  if (event.target.closest("form[data-guard]")) unsaved = true;
});

document.addEventListener("submit", (event) => {
  if (event.target.matches("form[data-guard]")) unsaved = false;
});

window.addEventListener("beforeunload", (event) => {
  if (unsaved) event.preventDefault();
});
