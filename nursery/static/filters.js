// In a filter bar (form[data-autosubmit]) choosing from a list is enough; typing still waits for the button or Enter.
"use strict";

document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-autosubmit]");
  if (form && event.target.matches("select, input[type=checkbox]")) form.requestSubmit();
});
