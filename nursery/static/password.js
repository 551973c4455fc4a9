// Lets a person see what they typed into a password field; it is hidden again before it is sent.
"use strict";

for (const field of document.querySelectorAll("input[data-show]")) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button button-quiet";
  const show = (shown) => {
    field.type = shown ? "text" : "password";
    button.textContent = shown ? field.dataset.hide : field.dataset.show;
  };
  button.addEventListener("click", () => show(field.type === "password"));
  field.form.addEventListener("submit", () => show(false));
  show(false);
  field.after(button);
}
