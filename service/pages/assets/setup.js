// Setting up: the ground for a mark, drawn of the firm's own points alone, and the clock of the place
// that this browser is in. Without this script a point is typed.

const WIDE = 600;
const HIGH = 400;
const METRES_A_DEGREE = 111_200; // of latitude, on a sphere of the Earth's mean radius, 6371 km
const STEP = 10;
const NS = "http://www.w3.org/2000/svg";

for (const zone of document.querySelectorAll("[data-zone]")) {
  if (!zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
}

// What is wrong in a group that is closed could not be shown: the browser would say nothing.
document.addEventListener("invalid", ({ target }) => target.closest("details")?.setAttribute("open", ""), true);

function drawn(name, attributes, text) {
  const found = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, value);
  if (text) found.textContent = text;
  return found;
}

function readPoint(text) {
  const found = /^\s*(-?\d+(?:\.\d+)?)\s*[,;\s]\s*(-?\d+(?:\.\d+)?)\s*$/.exec(text);
  return found ? [Number(found[1]), Number(found[2])] : null;
}

function ground(box) {
  const field = document.getElementById(box.dataset.ground);
  const svg = box.querySelector("svg");
  const told = box.querySelector("[data-told]");
  const pins = JSON.parse(box.dataset.pins);
  let centre = null;
  let metres = 4000; // across
  const shrink = () => Math.cos((centre[0] * Math.PI) / 180);
  const unit = () => metres / WIDE;
  const placed = ([latitude, longitude]) => [
    WIDE / 2 + ((longitude - centre[1]) * METRES_A_DEGREE * shrink()) / unit(),
    HIGH / 2 - ((latitude - centre[0]) * METRES_A_DEGREE) / unit(),
  ];
  const pointAt = (x, y) => [
    centre[0] - ((y - HIGH / 2) * unit()) / METRES_A_DEGREE,
    centre[1] + ((x - WIDE / 2) * unit()) / (METRES_A_DEGREE * shrink()),
  ];

  function fit() {
    const typed = readPoint(field.value);
    if (!pins.length && !typed) return;
    if (!pins.length) {
      centre = typed;
      return;
    }
    const all = typed ? [...pins.map((pin) => pin.at), typed] : pins.map((pin) => pin.at);
    const spans = [0, 1].map((axis) => {
      const values = all.map((at) => at[axis]);
      return [Math.min(...values), Math.max(...values)];
    });
    centre = spans.map(([low, high]) => (low + high) / 2);
    const wide = (spans[1][1] - spans[1][0]) * METRES_A_DEGREE * shrink();
    const high = (spans[0][1] - spans[0][0]) * METRES_A_DEGREE * (WIDE / HIGH);
    metres = Math.max(wide, high, 1500) * 1.4;
  }

  function draw() {
    const at = readPoint(field.value);
    if (!centre && at) centre = at;
    for (const part of [svg, ...box.querySelectorAll("[data-nearer], [data-away]")]) {
      part.toggleAttribute("hidden", centre === null); // nothing is known of the ground yet
    }
    box.hidden = false;
    if (centre === null) return;
    const round = 10 ** Math.floor(Math.log10(metres / 3));
    const bar = [5, 2, 1].map((step) => step * round).find((length) => length <= metres / 3);
    svg.replaceChildren();
    for (let x = (WIDE / 2) % (bar / unit()); x < WIDE; x += bar / unit()) {
      svg.append(drawn("path", { class: "grid", d: `M${x} 0V${HIGH}` }));
    }
    for (let y = (HIGH / 2) % (bar / unit()); y < HIGH; y += bar / unit()) {
      svg.append(drawn("path", { class: "grid", d: `M0 ${y}H${WIDE}` }));
    }
    for (const pin of pins) {
      const [x, y] = placed(pin.at);
      if (x < 0 || x > WIDE || y < 0 || y > HIGH) continue;
      svg.append(drawn("circle", { class: `at ${pin.kind}`, cx: x, cy: y, r: pin.kind === "job" ? 4 : 8 }));
      if (pin.kind !== "job") {
        const beside = x > WIDE / 2 ? { x: x - 12, "text-anchor": "end" } : { x: x + 12 };
        svg.append(drawn("text", { class: "name", y: y + 6, ...beside }, pin.name));
      }
    }
    if (at) {
      const [x, y] = placed(at);
      svg.append(drawn("path", { class: "cross", d: `M${x - 14} ${y}h28M${x} ${y - 14}v28` }));
      svg.append(drawn("circle", { class: "cross", cx: x, cy: y, r: 9 }));
    }
    svg.append(drawn("path", { class: "scale", d: `M20 ${HIGH - 16}h${bar / unit()}` }));
    svg.append(drawn("text", { class: "name", x: 20, y: HIGH - 24 }, bar >= 1000 ? `${bar / 1000} km` : `${bar} m`));
  }

  function set(at) {
    field.value = `${at[0].toFixed(6)}, ${at[1].toFixed(6)}`;
    told.textContent = `Marked: ${field.value}. North is up; the squares are as wide as the bar.`;
    draw();
  }

  svg.addEventListener("click", (event) => {
    const frame = svg.getBoundingClientRect();
    set(pointAt(((event.clientX - frame.left) / frame.width) * WIDE, ((event.clientY - frame.top) / frame.height) * HIGH));
  });
  const nearer = (factor) => {
    const at = readPoint(field.value);
    if (at) centre = at;
    metres = Math.min(Math.max(metres * factor, 100), 400_000);
    draw();
  };
  svg.addEventListener("keydown", (event) => {
    const moves = { ArrowUp: [0, -STEP], ArrowDown: [0, STEP], ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0] };
    if (event.key === "+" || event.key === "-") return nearer(event.key === "+" ? 0.5 : 2);
    if (!(event.key in moves)) return undefined;
    event.preventDefault();
    const [x, y] = placed(readPoint(field.value) ?? centre);
    return set(pointAt(x + moves[event.key][0], y + moves[event.key][1]));
  });
  box.querySelector("[data-nearer]").addEventListener("click", () => nearer(0.5));
  box.querySelector("[data-away]").addEventListener("click", () => nearer(2));
  box.querySelector("[data-here]").addEventListener("click", () => {
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        centre = [coords.latitude, coords.longitude];
        set(centre);
      },
      () => (told.textContent = "This device does not say where it is."),
      { enableHighAccuracy: true, timeout: 15_000 },
    );
  });
  field.addEventListener("input", () => {
    const at = readPoint(field.value);
    if (at && centre) {
      const [x, y] = placed(at);
      if (x < 0 || x > WIDE || y < 0 || y > HIGH) centre = at;
    }
    draw();
  });
  fit();
  draw();
}

for (const box of document.querySelectorAll("[data-ground]")) ground(box);
