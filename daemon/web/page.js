// Units and trends: scans anywhere, points of a chart by keyboard.

import { ScanReader } from "/web/scan.js";

const field = document.getElementById("scan");
const said = document.getElementById("said");
const chosen = document.getElementById("chosen");
const spots = [...document.querySelectorAll("a.spot")];

function open(serial) {
  location.assign(`/units/${encodeURIComponent(serial.trim().toUpperCase())}`);
}

const scanner = new ScanReader((text) => {
  if (!text.startsWith("EG-")) open(text);
});

// A line under the chart says the chosen point; nothing hides behind hovering.
function tell(spot) {
  const words = spot.getAttribute("aria-label");
  said.textContent = words;
  if (chosen) chosen.textContent = words;
}

function step(event) {
  const at = spots.indexOf(document.activeElement);
  const by = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (at < 0 || !by) return;
  event.preventDefault();
  const to = Math.max(0, Math.min(spots.length - 1, at + by * (event.shiftKey ? 10 : 1)));
  spots[to].focus();
}

document.addEventListener("keydown", (event) => {
  if (scanner.key(event)) event.preventDefault();
  else if (event.key === "F2") {
    event.preventDefault();
    field.focus();
  } else step(event);
}, true);

field.form.addEventListener("submit", (event) => {
  event.preventDefault();
  if (field.value.trim()) open(field.value);
});

// One stop of the Tab key for the whole chart; the arrows go from point to point.
for (const [index, spot] of spots.entries()) {
  spot.setAttribute("tabindex", index === 0 ? "0" : "-1");
  spot.addEventListener("focus", () => tell(spot));
  spot.addEventListener("pointerenter", () => tell(spot));
}
