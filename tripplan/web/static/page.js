// What the page does beyond plain forms. Without it everything still works, with a reload for each press.
"use strict";

// On a phone the line of pages is pushed sideways: the page that is open stands in sight.
const here = document.querySelector(".rail .here");
if (here) here.parentElement.scrollLeft = here.offsetLeft - (here.parentElement.clientWidth - here.offsetWidth) / 2;

// Forms are sent and answered by htmx (vendored beside this file); what follows keeps the hand where it was.
let held = null;
const fields = "button, input, select, textarea, summary";
const isTyped = one => one.matches("textarea, input:not([type=checkbox], [type=radio], [type=hidden])");

// What stays as the hand left it: the field, its place on the screen, and what is folded open.
let follow = false;  // the next job was ticked in the bar: go on to the one after it
document.addEventListener("htmx:beforeSwap", event => {
  const one = document.activeElement, main = document.getElementById("main");
  if (event.detail.target.id !== "main" || !main) { held = null; return; }
  const folds = new Map([...main.querySelectorAll("details[id]")].map(fold => [fold.id, fold.open]));
  held = one && one.matches(fields)
    ? { folds, fold: one.matches("summary") ? one.parentElement.id : "", id: one.id, name: one.name, label: one.getAttribute("aria-label"), word: one.dataset.word, value: isTyped(one) ? one.value : null, top: one.getBoundingClientRect().top }
    : { folds };
});

document.addEventListener("htmx:afterSwap", event => {
  const main = document.getElementById("main");
  if (event.detail.target.id !== "main" || !main) return;
  begin(main);
  const alarm = main.querySelector("[role=alert], .told");
  if (alarm) { alarm.tabIndex = -1; alarm.focus(); alarm.scrollIntoView({ block: "start" }); return; }
  if (!held) return;
  if (!follow) for (const fold of main.querySelectorAll("details[id]")) {
    if (held.folds.has(fold.id) && !fold.querySelector("[aria-invalid]")) fold.open = held.folds.get(fold.id);
  }
  const same = held.top !== undefined && [...main.querySelectorAll(fields)].find(one => held.fold
    ? one.matches("summary") && one.parentElement.id === held.fold : held.id ? one.id === held.id
    : one.name === held.name && one.getAttribute("aria-label") === held.label && one.dataset.word === held.word);
  if (same) {
    same.focus({ preventScroll: true });
    window.scrollBy({ top: same.getBoundingClientRect().top - held.top, behavior: "instant" });
  }
  if (follow) { follow = false; show(main.querySelector(".next-job a")); }
  if (same && held.value !== null && same.value !== held.value) {  // typed on while the answer was under way
    same.value = held.value;
    same.addEventListener("blur", () => same.dispatchEvent(new Event("change", { bubbles: true })), { once: true });
  }
});

// Unfold what a link within the page leads to, and bring it into view.
function show(link) {
  const place = link && document.getElementById(link.hash.slice(1));
  if (!place) return;
  for (let fold = place.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const job = place.closest("li"), more = job && job.querySelector(".more");
  if (more) more.open = true;
  if (place.matches("details")) place.open = true;
  (job || place).scrollIntoView({ block: job ? "nearest" : "start" });
}
document.addEventListener("click", event => {
  const link = event.target.closest && event.target.closest("#main a[href^='#']");
  if (link) show(link);
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
  const cellsOf = row => [...row.querySelectorAll(".cell")];
  const row = event.target.closest(".row"), rows = [...row.parentElement.querySelectorAll(".row")];
  const first = cellsOf(row).indexOf(event.target.closest(".cell"));
  event.preventDefault();
  text.trimEnd().split(/\r?\n/).forEach((line, down) => line.split("\t").forEach((value, right) => {
    const under = rows[rows.indexOf(row) + down], cell = under && cellsOf(under)[first + right];
    const field = cell && cell.querySelector("input:not([type=checkbox]), select");
    if (field) field.value = value.trim();
  }));
}

// On a wide screen the rows lie open as a table.
const wide = window.matchMedia("(min-width: 80rem)");
function lay(root) {
  if (!wide.matches) return;
  for (const row of root.querySelectorAll(".row, details.part:has(.grid)")) { row.removeAttribute("name"); row.open = true; }
}

// The water line follows the depth as it is typed; what is under is told in words too.
const METRES = { "": 1, m: 1, metre: 1, metres: 1, cm: 0.01, mm: 0.001 };
function metres(text) {  // 0.7, 0,7 and 70 cm are one depth; NaN where nobody can be sure
  const found = text.trim().match(/^(\d+(?:[.,]\d*)?|[.,]\d+)\s*([a-z]*)$/i);
  const scale = found ? METRES[found[2].toLowerCase()] : undefined;
  return scale === undefined ? NaN : Math.round(Number(found[1].replace(",", ".")) * scale * 1e6) / 1e6;
}

// What is not understood is said beside the box, and the drawing says what it goes on to show.
function deep(field) {
  const depth = metres(field.value), form = field.form, is = depth >= 0 && depth <= 3;
  const told = field.closest(".field").querySelector("[data-not-drawn]");
  if (told) told.textContent = is || !field.value.trim() ? "" : `“${field.value.trim()}” is not drawn: write metres from 0 to 3, such as 0.7, or 70 cm.`;
  if (is) show_water(form, depth);
}

function show_water(form, depth) {
  const under = [];
  for (const view of form.querySelectorAll(".side-view")) under.push(...flood(view, depth));
  const words = form.querySelector("[data-under]");
  if (words) words.textContent = `Under the line. ${under.join("; ") || "Nothing that is drawn"}.`;
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
  if (caption) caption.textContent = `Drawn: water at ${depth} m${more ? `, and ${more} m ${view.dataset.where} for the bow wave (dashed; our judgement, nobody publishes one)` : ""}. Filled points are under the line.`;
  return under;
}

// A round figure is put into its box by one touch.
function put_in(button) {
  const field = document.getElementById(button.dataset.fill);
  field.value = button.value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// The points of the drawing follow the heights as they are typed.
function move(field) {
  const place = field.closest("fieldset") || field.form, view = place.querySelector(".side-view");
  const text = field.value.trim(), height = metres(/^[\d.,]+$/.test(text) ? `${text} mm` : text);
  if (!view || !(height > 0 && height < 3)) return;
  const ground = Number(view.dataset.ground), scale = Number(view.dataset.perM);
  for (const point of view.querySelectorAll(`[data-point="${field.dataset.heightOf}"]`)) {
    point.dataset.height = height;
    point.setAttribute("cy", ground - Math.min(height, 2.1) * scale);
  }
}

// A question is shown where the answers before it make it worth asking.
function ask(form) {
  const answer = key => { const field = form.elements[key]; return field && !field.closest(".field").hidden ? field.value : ""; };
  for (const field of form.querySelectorAll("[data-only-if]")) {
    field.hidden = !field.dataset.onlyIf.split(";").filter(one => one).every(one => {
      const [key, words] = one.split("=");
      return words ? words.split("|").includes(answer(key)) : answer(key) !== "";
    });
  }
}

function begin(root) {
  const asked = root.querySelector("[data-only-if]");
  if (asked) { ask(asked.form || asked.closest("form")); asked.closest("form").addEventListener("input", event => ask(event.currentTarget)); }
  lay(root);
  for (const cell of root.querySelectorAll(".cell input, .cell select")) cell.addEventListener("paste", fill);
  for (const field of root.querySelectorAll("[data-depth]")) field.addEventListener("input", () => deep(field));
  for (const one of root.querySelectorAll("[data-fill]")) one.addEventListener("click", () => put_in(one));
  for (const field of root.querySelectorAll("[data-height-of]")) field.addEventListener("input", () => move(field));
}

document.documentElement.classList.add("js");
begin(document);
if (window.location.hash.length > 1) show(window.location);
