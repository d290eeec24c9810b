// The work of a day. Each entry goes into an outbox in this browser first, then to the folder, in the order it was made.
"use strict";

const BOX = `tripplan outbox ${window.location.pathname}`;
const AGAIN_MS = 4000, REST_MS = 900;
const mine = new Map();  // what this page itself has sent of each field
let box = kept(), running = null, refused = false;

function kept() {
  try { return JSON.parse(window.localStorage.getItem(BOX)) || []; } catch (error) { return []; }
}

function store() {
  try {
    if (box.length) window.localStorage.setItem(BOX, JSON.stringify(box));
    else window.localStorage.removeItem(BOX);
  } catch (error) { /* then it is kept as long as the page is open */ }
}

const bench = () => document.querySelector("form[data-at-once]");
const named = (name, value) => [...bench().elements].find(one => one.name === name && (value === undefined || one.value === value));

const tickOf = key => [...document.querySelectorAll(".tick")].find(one => one.value.startsWith(`${key}=`));
const findsOf = name => [...document.querySelectorAll(".find")].filter(one => one.name === name);

// Show an entry that is still on its way as if it had arrived.
function apply(entry) {
  if (entry.all !== undefined) {
    entry.all.split(";;").filter(key => key).forEach(key => apply({ toggle: `${key}=done` }));
    return;
  }
  if (entry.toggle !== undefined) {
    const [key, state] = [entry.toggle.replace(/=\w+$/, ""), entry.toggle.endsWith("=done")], button = tickOf(key);
    if (!button) return;
    button.setAttribute("aria-pressed", state);
    button.value = `${key}=${state ? "open" : "done"}`;
    return;
  }
  for (const button of findsOf(entry.name)) {
    const is = button.dataset.word === entry.value;
    button.setAttribute("aria-pressed", is);
    button.value = is ? "" : button.dataset.word;
  }
  const field = entry.name.startsWith("note.") && named(entry.name);
  if (field && field !== document.activeElement) field.value = entry.value;
}

function put(entry) {
  box.push(entry);
  store();
  apply(entry);
  return flush();
}

function flush() {
  if (!running) running = send().finally(() => { running = null; });
  return running;
}

async function send() {
  while (box.length && bench()) {
    refused = false;
    try {
      const how = { source: document.body, target: "#main", select: "#main", swap: "outerHTML", values: values(box[0]) };
      await htmx.ajax("POST", bench().getAttribute("action"), how);
    } catch (error) { refused = true; }
    if (refused) { window.setTimeout(flush, AGAIN_MS); return; }
    const done = box.shift();
    if (done.name) mine.set(done.name, done.value);
    store();
    box.forEach(apply);
  }
}

// Only what was changed goes out, with what it was: another window's entry is never written over unseen.
function values(entry) {
  const csrf = named("csrf").value;
  if (entry.toggle !== undefined) return { csrf, toggle: entry.toggle };
  if (entry.all !== undefined) return { csrf, tick_all: entry.all };
  const there = named(`was_${entry.name}`), isMine = there && mine.get(entry.name) === there.value;
  return { csrf, [entry.name]: entry.value, [`was_${entry.name}`]: isMine ? there.value : entry.was };
}

function unsent(event) {
  refused = true;
  if (!bench()) return;
  document.querySelectorAll(".unsaved").forEach(old => old.remove());
  const told = document.createElement("p");
  told.className = "problems unsaved"; told.setAttribute("role", "alert");
  told.textContent = event.detail.xhr.status
    ? "Not saved yet: the page refused it; open it afresh. What you entered is kept in this browser."
    : "Not saved yet: the page could not be reached. What you entered is kept in this browser, and sent as soon as it can be.";
  bench().prepend(told);
}
document.addEventListener("htmx:sendError", unsent);
document.addEventListener("htmx:responseError", unsent);

document.addEventListener("submit", event => {
  if (event.target === bench()) {
    event.preventDefault();
    const button = event.submitter;
    if (!button) return;
    if (button.name === "toggle") { follow = button.matches(".next-done"); put({ toggle: button.value }); }
    else if (button.matches(".find")) put({ name: button.name, value: button.value, was: named(`was_${button.name}`).value });
    else if (button.name === "tick_all") put({ all: button.value });
  } else if (box.length && event.target.closest(".close")) {  // the day is closed with all that was entered
    event.preventDefault();
    flush().then(() => { if (!box.length) document.querySelector(".close form").requestSubmit(); });
  }
});
document.addEventListener("keydown", event => {
  if (event.key === "Enter" && event.target.matches(".note-in")) { event.preventDefault(); keep(event.target); }
});
// A note is kept when the hand rests or leaves it.
let rest = null;
function keep(field) {
  window.clearTimeout(rest);
  const was = field.form && field.form === bench() && named(`was_${field.name}`);
  const last = box.findLast(one => one.name === field.name), value = field.value.trim();
  if (was && value !== (last ? last.value : was.value)) put({ name: field.name, value, was: was.value });
}
document.addEventListener("change", event => keep(event.target));
document.addEventListener("input", event => {
  window.clearTimeout(rest);
  if (event.target.matches(".note-in")) rest = window.setTimeout(keep, REST_MS, event.target);
});

if (box.length) { box.forEach(apply); flush(); }
