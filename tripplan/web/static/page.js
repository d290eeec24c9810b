// What the page does beyond plain forms. Without it everything still works, with a reload for each press.
"use strict";

// Forms are sent and answered by htmx (vendored beside this file); what follows keeps the hand where it was.
let held = null;
const fields = "button, input, select, textarea";
const isTyped = one => one.matches("textarea, input:not([type=checkbox], [type=radio], [type=hidden])");

document.addEventListener("htmx:beforeSwap", event => {
  const one = document.activeElement;
  held = event.detail.target.id === "main" && one && one.matches(fields)
    ? { id: one.id, name: one.name, label: one.getAttribute("aria-label"), value: isTyped(one) ? one.value : null } : null;
});

document.addEventListener("htmx:afterSwap", event => {
  const main = document.getElementById("main");
  if (event.detail.target.id !== "main" || !main) return;
  begin(main);
  const alarm = main.querySelector("[role=alert], .told");
  if (alarm) { alarm.tabIndex = -1; alarm.focus(); alarm.scrollIntoView({ block: "start" }); return; }
  const same = held && [...main.querySelectorAll(fields)].find(one => held.id ? one.id === held.id
    : one.name === held.name && one.getAttribute("aria-label") === held.label);
  if (!same) return;
  same.focus({ preventScroll: true });
  if (held.value !== null && same.value !== held.value) {  // typed on while the answer was under way
    same.value = held.value;
    same.addEventListener("blur", () => same.dispatchEvent(new Event("change", { bubbles: true })), { once: true });
  }
});

function unsaved(event) {
  const form = event.target.closest("form");
  if (!form) return;
  form.querySelectorAll(".unsaved").forEach(old => old.remove());
  const told = document.createElement("p");
  told.className = "problems unsaved"; told.setAttribute("role", "alert");
  told.textContent = `Not saved: ${event.detail.xhr.status ? "the page refused it; open it afresh in another tab" : "the page could not be reached"}. What you entered is still here.`;
  form.prepend(told);
}
document.addEventListener("htmx:sendError", unsaved);
document.addEventListener("htmx:responseError", unsaved);

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

// The water line follows the depth as it is typed; what is under is told in words too.
function deep(field) {
  const depth = Number(field.value), form = field.form;
  if (!field.value.trim() || !(depth >= 0 && depth <= 3)) return;
  const under = [];
  for (const view of form.querySelectorAll(".side-view")) under.push(...flood(view, depth));
  const told = form.querySelector("[data-under]");
  if (told) told.textContent = `Under the line. ${under.join("; ") || "Nothing that is drawn"}.`;
}

function flood(view, depth) {
  const ground = Number(view.dataset.ground), scale = Number(view.dataset.perM), more = Number(view.dataset.allowance);
  const y = height => ground - Math.min(height, 2.1) * scale;
  const water = view.querySelector("[data-water]"), line = depth > 0 ? depth + more : 0, under = [];
  water.setAttribute("y", y(depth)); water.setAttribute("height", ground - y(depth));
  view.querySelector("[data-wave]").setAttribute("transform", `translate(0 ${y(line)})`);
  for (const point of view.querySelectorAll("[data-height]")) {
    const is = depth > 0 && depth + Number(point.dataset.waveM) >= Number(point.dataset.height) - 1e-9;
    point.classList.toggle("under", is);
    if (is) under.push(point.querySelector("title").textContent);
  }
  view.querySelector("title").textContent = `Side view with water ${depth} m deep. Heights are to scale, lengths are not.`;
  const caption = view.closest("figure").querySelector("figcaption");
  if (caption) caption.textContent = `Water at ${depth} m${more ? `, and ${more} m at the front for the bow wave (dashed; our judgement, nobody publishes one)` : ""}. Filled points are under the line.`;
  return under;
}

// The points of the drawing follow the heights as they are typed.
function move(field) {
  const place = field.closest("fieldset") || field.form, view = place.querySelector(".side-view");
  const height = Number(field.value) / 1000;
  if (!view || !(height > 0 && height < 3)) return;
  const ground = Number(view.dataset.ground), scale = Number(view.dataset.perM);
  for (const point of view.querySelectorAll(`[data-point="${field.dataset.heightOf}"]`)) {
    point.dataset.height = height;
    point.setAttribute("cy", ground - Math.min(height, 2.1) * scale);
  }
}

function begin(root) {
  for (const cell of root.querySelectorAll(".grid input, .grid select")) cell.addEventListener("paste", fill);
  for (const field of root.querySelectorAll("[data-depth]")) field.addEventListener("input", () => deep(field));
  for (const field of root.querySelectorAll("[data-height-of]")) field.addEventListener("input", () => move(field));
}

document.documentElement.classList.add("js");
begin(document);
