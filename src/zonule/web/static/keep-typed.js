// Keeps what is typed into a form until it is saved, so that a reload loses nothing.
const storage = window.sessionStorage;
const isSecret = (field) => field.type === "hidden" || field.type === "file";

function restore(form) {
  const kept = JSON.parse(storage.getItem(form.dataset.keep) ?? "{}");
  for (const field of form.elements) {
    if (field.name in kept && !isSecret(field) && field.type !== "radio") field.value = kept[field.name];
  }
}

function keep(form) {
  const typed = {};
  for (const field of form.elements) {
    if (field.name && !isSecret(field) && field.type !== "radio") typed[field.name] = field.value;
  }
  storage.setItem(form.dataset.keep, JSON.stringify(typed));
}

function attach(root) {
  for (const form of root.querySelectorAll("form[data-keep]")) {
    restore(form);
    form.addEventListener("input", () => keep(form));
  }
}

document.body.classList.add("scripted");
attach(document);
document.body.addEventListener("htmx:afterSwap", (event) => attach(event.target.parentElement ?? document));
document.querySelector(".problem[role=alert]")?.focus();
