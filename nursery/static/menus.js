// Escape, or a click elsewhere, closes an open menu or explanation. Without this file the same click that opened it closes it.
// On a phone a section's pages stand in one row: the one that is open is brought into sight.
"use strict";

const FOLDED = "details.menu[open], details.explain[open]";

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const details of document.querySelectorAll(FOLDED)) {
    const hadFocus = details.contains(document.activeElement);
    details.open = false;
    if (hadFocus) details.querySelector("summary").focus();
  }
});

document.addEventListener("click", (event) => {
  for (const details of document.querySelectorAll(FOLDED)) {
    if (!details.contains(event.target)) details.open = false;
  }
});

for (const row of document.querySelectorAll(".subnav ul")) {
  const current = row.querySelector("[aria-current]");
  if (current && row.scrollWidth > row.clientWidth) {
    row.scrollLeft = current.offsetLeft - row.offsetLeft - (row.clientWidth - current.offsetWidth) / 2;
  }
}
