// Reads the squares of the phone where the browser itself can: from pictures, or by the camera. Nothing leaves the page.
"use strict";
(() => {
  const place = document.getElementById("reader");
  const text = document.getElementById("text");
  if (!("BarcodeDetector" in window) || !place || !text) return;
  const PART = /^tripplan field part (\d+)\/(\d+) ([0-9a-f]{8}) /;

  const told = document.createElement("p");
  told.setAttribute("role", "status");

  const take = (values) => {
    const lines = new Set(text.value.split("\n").filter((line) => line));
    values.filter((value) => PART.test(value)).forEach((value) => lines.add(value));
    const parts = [...lines].filter((line) => PART.test(line));
    text.value = [...lines].join("\n");
    const count = parts.length ? Number(PART.exec(parts[0])[2]) : 0;
    told.textContent = count ? `${parts.length} of ${count} squares read.` : "No square of the phone was seen.";
    return count > 0 && parts.length >= count;
  };

  const label = document.createElement("label");
  const pictures = Object.assign(document.createElement("input"), { type: "file", accept: "image/*", multiple: true, id: "pictures" });
  label.htmlFor = "pictures";
  label.textContent = "Pictures of the squares ";
  const camera = Object.assign(document.createElement("button"), { type: "button", textContent: "Use the camera" });
  const view = Object.assign(document.createElement("video"), { muted: true, playsInline: true, hidden: true });

  const start = async () => {
    const kinds = await BarcodeDetector.getSupportedFormats();
    if (!kinds.includes("qr_code")) return;
    const detector = new BarcodeDetector({ formats: ["qr_code"] });
    pictures.addEventListener("change", async () => {
      const seen = [];
      for (const file of pictures.files) {
        try {
          seen.push(...(await detector.detect(await createImageBitmap(file))).map((one) => one.rawValue));
        } catch (_) {
          told.textContent = `${file.name} is not a picture that this browser reads.`;
        }
      }
      take(seen);
    });
    camera.addEventListener("click", async () => {
      let stream;
      try {
        stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      } catch (_) {
        told.textContent = "The camera cannot be used here.";
        return;
      }
      view.srcObject = stream;
      view.hidden = false;
      await view.play();
      let isDone = false;
      while (!isDone && stream.active) {
        const seen = (await detector.detect(view)).map((one) => one.rawValue);
        if (seen.length) isDone = take(seen);
        await new Promise((resolve) => { setTimeout(resolve, 200); });
      }
      stream.getTracks().forEach((track) => track.stop());
      view.hidden = true;
    });
    place.replaceChildren(label, pictures, camera, view, told);
  };
  start();
})();
