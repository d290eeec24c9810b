// Reads the squares of the phone where the browser itself can, from pictures of them. Nothing leaves the page.
"use strict";
(() => {
  const place = document.getElementById("reader");
  const text = document.getElementById("text");
  if (!("BarcodeDetector" in window) || !place || !text) return;
  const PART = /^tripplan field part (\d+)\/(\d+) ([0-9a-f]{8}) /;

  const make = (tag, told, ...inside) => {
    const made = Object.assign(document.createElement(tag), told);
    made.append(...inside);
    return made;
  };
  const told = make("p", {});
  told.setAttribute("role", "status");

  const take = (values) => {
    const lines = new Set(text.value.split("\n").filter((line) => line));
    values.filter((value) => PART.test(value)).forEach((value) => lines.add(value));
    const parts = [...lines].filter((line) => PART.test(line));
    text.value = [...lines].join("\n");
    told.textContent = parts.length ? `${parts.length} of ${PART.exec(parts[0])[2]} squares read.` : "No square of the phone was seen.";
  };

  const read = async (detector, files) => {
    const seen = [];
    const bad = [];
    for (const file of files) {
      try {
        seen.push(...(await detector.detect(await createImageBitmap(file))).map((one) => one.rawValue));
      } catch (_) {
        bad.push(file.name);
      }
    }
    take(seen);
    if (bad.length) told.textContent += ` Not read as pictures: ${bad.join(", ")}.`;
  };

  const start = async () => {
    if (!(await BarcodeDetector.getSupportedFormats()).includes("qr_code")) return;
    const detector = new BarcodeDetector({ formats: ["qr_code"] });
    const pictures = make("input", { type: "file", accept: "image/*", multiple: true, id: "pictures", className: "drop" });
    pictures.addEventListener("change", () => read(detector, pictures.files));
    const label = make("label", { htmlFor: "pictures" }, "Pictures of the squares");
    place.replaceChildren(make("p", { className: "field long" }, label, pictures), told);
  };
  start();
})();
