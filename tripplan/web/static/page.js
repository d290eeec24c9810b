// What the page does beyond plain forms. Without it everything still works, with a reload for each press.
"use strict";

const parse = text => new DOMParser().parseFromString(text, "text/html");

function show(text, address) {
  const old = document.getElementById("main"), held = document.activeElement, fresh = parse(text);
  const id = held && held.id, name = held && held.name, label = held && held.getAttribute("aria-label");
  const main = fresh.getElementById("main");
  if (!main) { window.location.assign(address); return; }
  old.replaceWith(document.adoptNode(main));
  document.title = fresh.title;
  document.body.toggleAttribute("data-waiting", fresh.body.hasAttribute("data-waiting"));
  if (address) window.history.replaceState(null, "", address);
  const same = [...main.querySelectorAll("button, input, select, textarea")].find(one =>
    (id && one.id === id) || (!id && one.name === name && one.getAttribute("aria-label") === label));
  const alarm = main.querySelector("[role=alert], .told");
  if (alarm) { alarm.tabIndex = -1; alarm.focus({ preventScroll: false }); alarm.scrollIntoView({ block: "start" }); }
  else if (same) same.focus({ preventScroll: true });
  begin(main);
}

let queue = Promise.resolve();
function send(form, button) {
  const data = new URLSearchParams(new FormData(form));
  if (button && button.name) data.append(button.name, button.value);
  document.body.classList.add("busy");
  queue = queue.then(async () => {
    try {
      const answer = await fetch(form.action, { method: "POST", body: data });
      const text = await answer.text();
      if (!(answer.headers.get("content-type") || "").includes("text/html")) throw new Error(text);
      show(text, answer.url);
    } catch (error) {
      const told = document.createElement("p");
      told.className = "problems"; told.setAttribute("role", "alert");
      told.textContent = "Not saved: the page could not be reached. What you entered is still here.";
      form.prepend(told);
    } finally { document.body.classList.remove("busy"); }
  });
  return queue;
}

// A table pasted into a cell fills cells to the right and below.
function fill(event) {
  const text = event.clipboardData && event.clipboardData.getData("text");
  if (!text || !(text.includes("\t") || text.trim().includes("\n"))) return;
  const row = event.target.closest("tr"), rows = [...row.parentElement.rows];
  const first = [...row.cells].indexOf(event.target.closest("td"));
  event.preventDefault();
  text.trimEnd().split(/\r?\n/).forEach((line, down) => line.split("\t").forEach((value, right) => {
    const cell = rows[rows.indexOf(row) + down]?.cells[first + right];
    const field = cell && cell.querySelector("input:not([type=checkbox]), select");
    if (field) field.value = value.trim();
  }));
}

// The water line follows the depth as it is typed; what is under is told when it is asked for.
function deep(field) {
  const form = field.closest("form"), view = form.querySelector(".side-view");
  const depth = Number(field.value);
  if (!view || !field.value.trim() || !(depth >= 0 && depth <= 3)) return;
  const ground = Number(view.dataset.ground), scale = Number(view.dataset.perM), more = Number(view.dataset.allowance);
  const y = height => ground - Math.min(height, 2.1) * scale;
  const water = view.querySelector("[data-water]");
  water.setAttribute("y", y(depth)); water.setAttribute("height", ground - y(depth));
  const line = depth > 0 ? depth + more : 0;
  view.querySelector("[data-wave]").setAttribute("transform", `translate(0 ${y(line)})`);
  const under = [];
  for (const point of view.querySelectorAll("[data-height]")) {
    const is = depth > 0 && line >= Number(point.dataset.height) - 1e-9;
    point.classList.toggle("under", is);
    if (is) under.push(point.querySelector("title").textContent);
  }
  view.querySelector("title").textContent = `Side view with water ${depth} m deep. Heights are to scale, lengths are not.`;
  form.querySelector("figcaption").textContent = `Water at ${depth} m, and ${more} m for the bow wave (dashed). Filled points are under the line.`;
  form.querySelector("[data-under]").textContent = `Under the line. ${under.join("; ") || "Nothing that is drawn"}.`;
}

function begin(root) {
  for (const form of root.querySelectorAll("form[data-swap]")) {
    form.addEventListener("submit", event => { event.preventDefault(); send(form, event.submitter); });
    if (form.hasAttribute("data-at-once"))
      form.addEventListener("change", event => { if (event.target.name) send(form, null); });
  }
  for (const cell of root.querySelectorAll(".grid input, .grid select")) cell.addEventListener("paste", fill);
  for (const field of root.querySelectorAll("[data-depth]")) field.addEventListener("input", () => deep(field));
}

// When the solved plan is ready, say so; nothing jumps under the hand.
async function wait() {
  if (!document.body.hasAttribute("data-waiting")) return;
  try {
    const state = await (await fetch("/state.json")).json();
    if (state.answer && state.answer !== "plain") {
      const link = document.querySelector("[data-again]");
      if (link) link.textContent = "The solved plan is ready: show it";
      document.body.removeAttribute("data-waiting");
      return;
    }
  } catch (error) { /* asked again below */ }
  window.setTimeout(wait, 2000);
}

document.documentElement.classList.add("js");
begin(document);
window.setTimeout(wait, 1000);
