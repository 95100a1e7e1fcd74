// The planned incision can be moved round the limbus, by hand or by keys. The picture stays the server's: its
// wedge is only turned here until the answer to the saved draft brings the next picture.
const ASK_EVERY_MS = 100;
const KEY_PAUSE_MS = 500;
const STEPS = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
const ENDS = { Home: 0, End: 359 };
const AROUND = ["nasal", "superior nasal", "superior", "superior temporal", "temporal", "inferior temporal", "inferior", "inferior nasal"];
const HINT = "Drag the wedge round the eye, or reach it with Tab and use the arrow keys.";

const frame = document.querySelector(".face-frame[data-movable]");
const face = document.getElementById("face");
const form = document.getElementById("draft");
const field = document.getElementById("incision_meridian_deg");
const handle = document.createElement("span");
const button = document.createElement("button");
const said = document.createElement("p");

let saved = null; // degrees, as the picture was drawn
let value = null; // degrees, as it is shown
let corners = []; // of the wedge as it was drawn
let moving = false;
let grabbed = 0;
let pause = 0;
let asking = false;
let stop = new AbortController();
let left = ""; // what is left, in the words of the section on astigmatism
let leftAt = null; // for an incision here

const picture = () => face.querySelector("svg");
const round = (degrees) => ((Math.round(degrees) % 360) + 360) % 360;
const part = (degrees) => AROUND[Math.round(round(picture().dataset.side === "right" ? degrees : 180 - degrees) / 45) % 8];
const words = (degrees) => `${degrees} degrees, ${part(degrees)}`;

function turned([x, y], byDegrees) {
  // Counter-clockwise as it is seen; rows of a picture run down.
  const angle = (byDegrees * Math.PI) / 180;
  return [x * Math.cos(angle) + y * Math.sin(angle), y * Math.cos(angle) - x * Math.sin(angle)];
}

function read() {
  const drawn = picture();
  const at = drawn.dataset.incisionDeg;
  saved = at === undefined ? null : Number(at);
  corners = saved === null ? [] : [...drawn.querySelector("polygon.incision").points].map(({ x, y }) => [x, y]);
  if (!moving || saved === null) stand();
  show();
}

function stand() {
  moving = false;
  value = saved;
}

function show() {
  const isPlaced = value !== null;
  if (isPlaced && button === document.activeElement) window.queueMicrotask(() => handle.focus());
  handle.hidden = !isPlaced;
  said.hidden = !isPlaced;
  button.hidden = isPlaced;
  if (!isPlaced) {
    button.textContent = `Place the incision at ${words(firstPlace())}`;
    return;
  }
  const box = picture().viewBox.baseVal;
  const now = corners.map((corner) => turned(corner, value - saved));
  const middle = [0, 1].map((axis) => now.reduce((sum, corner) => sum + corner[axis], 0) / now.length);
  if (moving) turnWedge(now);
  handle.style.left = `${(100 * (middle[0] - box.x)) / box.width}%`;
  handle.style.top = `${(100 * (middle[1] - box.y)) / box.height}%`;
  handle.setAttribute("aria-valuenow", value);
  handle.setAttribute("aria-valuetext", words(value));
  const isNew = moving || value !== saved;
  said.classList.toggle("moving", isNew);
  said.textContent = isNew ? `Incision at ${words(value)}. Not saved yet. ${leftAt === value ? left : ""}` : HINT;
}

function turnWedge(now) {
  const drawn = picture();
  drawn.querySelector("polygon.incision").setAttribute("points", now.map((corner) => corner.join()).join(" "));
  drawn.classList.add("moving");
  for (const line of drawn.querySelectorAll("text.key")) {
    if (line.textContent.startsWith("incision")) line.textContent = `incision at ${value}\u00b0, not saved yet`;
  }
}

function firstPlace() {
  // Where the surgeon sits, which is below; at the temple when no seat was chosen.
  const { side, turnDeg } = picture().dataset;
  if (Number(turnDeg) !== 0) return round(270 - Number(turnDeg));
  return side === "right" ? 180 : 0;
}

function move(degrees) {
  moving = true;
  value = round(degrees);
  show();
  ask();
}

async function ask() {
  if (asking) return;
  asking = true;
  for (let asked = null; moving && asked !== value; ) {
    asked = value;
    const wait = new Promise((resolve) => setTimeout(resolve, ASK_EVERY_MS));
    await showWhatIsLeft(asked, stop.signal).catch(() => {}); // the saved draft's own answer tells what is wrong
    await wait;
  }
  asking = false;
}

async function showWhatIsLeft(degrees, signal) {
  const address = form.action.replace(/draft$/, `astigmatism?incision_meridian_deg=${degrees}`);
  const answer = await fetch(address, { signal });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const next = page.getElementById("astigmatism");
  const shown = document.getElementById("astigmatism");
  if (!answer.ok || !next || !shown || signal.aborted) return;
  const wereOpen = [...shown.querySelectorAll("details")].map((one) => one.open);
  next.querySelectorAll("details").forEach((one, index) => { one.open = wereOpen[index] ?? one.open; });
  shown.replaceWith(document.adoptNode(next));
  left = next.querySelector(".headline")?.textContent ?? "";
  leftAt = degrees;
  show();
}

function save(degrees) {
  clearTimeout(pause);
  stop.abort();
  stop = new AbortController();
  moving = false;
  field.value = String(degrees);
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

function giveUp() {
  if (!moving) return;
  value = saved;
  show();
  save(saved);
}

function pointed(event) {
  const box = picture().viewBox.baseVal;
  const seen = picture().getBoundingClientRect();
  const x = ((event.clientX - seen.left) * box.width) / seen.width + box.x;
  const y = ((event.clientY - seen.top) * box.height) / seen.height + box.y;
  return (Math.atan2(-y, x) * 180) / Math.PI - Number(picture().dataset.turnDeg);
}

function build() {
  handle.className = "incision-handle";
  handle.tabIndex = 0;
  const told = { role: "slider", "aria-label": "Incision", "aria-valuemin": 0, "aria-valuemax": 359, "aria-describedby": "incision-said" };
  for (const [name, content] of Object.entries(told)) handle.setAttribute(name, content);
  said.id = "incision-said";
  said.className = "fine incision-said";
  button.type = "button";
  button.className = "quiet";
  frame.append(handle);
  frame.after(button, said);
}

function listen() {
  handle.addEventListener("pointerdown", (event) => {
    handle.setPointerCapture(event.pointerId);
    grabbed = pointed(event) - value;
  });
  handle.addEventListener("pointermove", (event) => {
    if (!handle.hasPointerCapture(event.pointerId)) return;
    const degrees = round(pointed(event) - grabbed);
    if (degrees !== value) move(degrees);
  });
  handle.addEventListener("pointerup", () => moving && save(value));
  handle.addEventListener("pointercancel", giveUp);
  handle.addEventListener("keydown", (event) => {
    if (event.key === "Escape") giveUp();
    if (!(event.key in STEPS || event.key in ENDS) || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    move(ENDS[event.key] ?? Math.round(value) + STEPS[event.key]);
    clearTimeout(pause);
    pause = setTimeout(() => save(value), KEY_PAUSE_MS);
  });
  handle.addEventListener("blur", () => moving && save(value));
  button.addEventListener("click", () => save(firstPlace()));
  new MutationObserver(read).observe(face, { childList: true });
}

if (frame && field) {
  build();
  listen();
  read();
}
