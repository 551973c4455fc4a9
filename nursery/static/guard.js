// Asks before leaving a page whose form (data-guard) holds typing that was not sent yet.
"use strict";

let unsaved = false;

document.addEventListener("input", (event) => {
  if (event.target.closest("form[data-guard]")) unsaved = true;
});

document.addEventListener("submit", (event) => {
  if (event.target.matches("form[data-guard]")) unsaved = false;
});

window.addEventListener("beforeunload", (event) => {
  if (unsaved) event.preventDefault();
});
