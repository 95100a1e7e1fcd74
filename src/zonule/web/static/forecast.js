// A forecast is shown only while it answers what the form says.
const form = document.getElementById("draft");
let changes = 0;
let changesSent = 0;

const isForDraft = (event) => event.detail.requestConfig?.elt === form;

function hide(reason) {
  const problem = document.createElement("div");
  problem.className = "problem";
  problem.setAttribute("role", "alert");
  problem.textContent = `Not saved. ${reason}`;
  document.getElementById("forecast").replaceChildren(problem);
}

function keepNewerChoice(event) {
  // Something was changed after this answer was asked for; its own answer follows. Only the revision counts.
  const answer = new DOMParser().parseFromString(event.detail.serverResponse, "text/html");
  const revision = answer.querySelector("input[name=revision]");
  if (revision) document.querySelector("#forecast input[name=revision]").value = revision.value;
  event.detail.shouldSwap = false;
}

function noAnswer() {
  hide("zonule does not answer. Start it again and load this page again; what was saved before is there.");
}

function isAnswered() {
  return [...form.elements].every((field) => {
    const shown = document.querySelector(`#forecast input[name="shown_${field.name}"]`);
    if (!shown || (field.type === "radio" && !field.checked)) return true;
    return field.value === shown.value || (field.value !== "" && Number(field.value) === Number(shown.value));
  });
}

// What was changed before the scripts were there, or kept over a reload, has not been asked for yet.
document.body.addEventListener("htmx:load", () => {
  if (!isAnswered()) form.dispatchEvent(new Event("change", { bubbles: true }));
}, { once: true });
document.getElementById("main").addEventListener("change", (event) => {
  if (event.target.form === form) changes += 1;
}, true);
document.body.addEventListener("htmx:beforeSend", (event) => {
  if (!isForDraft(event)) return;
  changesSent = changes;
  document.getElementById("forecast").setAttribute("aria-busy", "true");
});
document.body.addEventListener("htmx:beforeSwap", (event) => {
  if (isForDraft(event) && event.detail.xhr.status === 200 && changes > changesSent) keepNewerChoice(event);
});
document.body.addEventListener("htmx:responseError", (event) => {
  if (isForDraft(event)) hide("zonule was started anew, or refused this. Load this page again and look at the plan.");
});
document.body.addEventListener("htmx:sendError", (event) => isForDraft(event) && noAnswer());
document.body.addEventListener("htmx:timeout", (event) => isForDraft(event) && noAnswer());
