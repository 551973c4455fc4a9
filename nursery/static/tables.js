// A table that fits needs no region of its own to scroll in, nor the keyboard stop that goes with one.
"use strict";

const fit = new ResizeObserver((entries) => {
  for (const { target } of entries) {
    const fits = target.querySelector("table").offsetWidth <= target.clientWidth;
    target.classList.toggle("fits", fits);
    if (fits) target.removeAttribute("tabindex");
    else target.tabIndex = 0;
  }
});

for (const region of document.querySelectorAll(".table-region")) fit.observe(region);
