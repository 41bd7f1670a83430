// Draws the faces from the few numbers Python sends. Nothing here knows navigation:
// what moves is either drawn where Python put it or slid in a straight line from the last place.

const SVG = "http://www.w3.org/2000/svg";

function add(parent, tag, attributes = {}, text = "") {
  const made = document.createElementNS(SVG, tag);
  put(made, attributes);
  if (text) made.textContent = text;
  parent.append(made);
  return made;
}

// What stands there already is not written again: the browser would lay out and paint for nothing.
const written = new WeakMap();
function put(element, attributes) {
  let known = written.get(element);
  if (!known) written.set(element, (known = {}));
  for (const [name, value] of Object.entries(attributes)) {
    if (known[name] === value) continue;
    known[name] = value;
    element.setAttribute(name, value);
  }
}

function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

function show(element, visible) {
  const wanted = visible ? "" : "none";
  if (element.style.display !== wanted) element.style.display = wanted;
}

// Keeps as many children of one kind as there are items, so that redrawing never rebuilds.
function pool(parent, tag) {
  const made = [];
  return (items, draw) => {
    while (made.length < items.length) made.push(add(parent, tag));
    made.forEach((element, i) => {
      show(element, i < items.length);
      if (i < items.length) draw(element, items[i]);
    });
  };
}

const three = (deg) => String(((Math.round(deg) + 359) % 360) + 1).padStart(3, "0");
const minus = (text) => text.replace("-", "\u2212");

function clockText(seconds) {
  const whole = Math.round(Math.abs(seconds));
  return `${seconds < -0.5 ? "\u2212" : ""}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}

function numberText(value, decimals) {
  const fixed = value.toFixed(decimals);
  const clean = Number(fixed) === 0 ? (0).toFixed(decimals) : fixed;
  const [whole, rest] = clean.split(".");
  return minus(whole.replace(/\B(?=(\d{3})+$)/g, ",") + (rest ? "." + rest : ""));
}

const polyline = (xs, ys, x, y) => xs.map((v, i) => `${i ? "L" : "M"}${x(v).toFixed(1)} ${y(ys[i]).toFixed(1)}`).join("");

// An aircraft in strokes, as one draws it on a board: body, wing, tail; light round it, so that it stands out on lines.
function drawnCraft(parent, d) {
  const craft = add(parent, "g", { class: "nw-craft" });
  add(craft, "path", { class: "nw-craft-edge", d });
  add(craft, "path", { d });
  return craft;
}

// ---------------------------------------------------------------- plan view
function plan(svg) {
  put(svg, { viewBox: "0 0 400 400" });
  const clip = `nw-clip-${Math.random().toString(36).slice(2)}`;
  add(add(svg, "clipPath", { id: clip }), "rect", { x: 1, y: 1, width: 398, height: 398, rx: 7 });
  add(svg, "rect", { class: "nw-paper", x: 0.5, y: 0.5, width: 399, height: 399, rx: 8 });
  const inside = add(svg, "g", { "clip-path": `url(#${clip})` });
  const fills = pool(add(inside, "g"), "circle");
  const paths = pool(add(inside, "g"), "path");
  const signs = pool(add(inside, "g"), "path");
  const craft = drawnCraft(inside, "M0 -17 V15 M-14 -4 H14 M-6 13 H6");
  const names = pool(add(inside, "g"), "text");
  const north = add(svg, "g", { transform: "translate(24 20)" });
  add(north, "path", { class: "nw-ink-fill", d: "M0 -10 L6 8 L0 4 L-6 8Z" });
  const northText = add(north, "text", { class: "nw-small nw-halo", x: 12, y: 5 });
  const wind = add(svg, "g");
  const windArrow = add(wind, "path", { class: "nw-wind", d: "M0 -17 V15 M-6 7 L0 16 L6 7" });
  const windText = add(wind, "text", { class: "nw-small nw-halo nw-wind-text", x: 352, y: 24, "text-anchor": "end" });
  const bar = add(svg, "path", { class: "nw-bar" });
  const barText = add(svg, "text", { class: "nw-small nw-halo", x: 14, y: 376 });
  return (d) => {
    const per = 200 / d.radius_nm;
    const x = (east) => 200 + (east - d.centre_east_nm) * per;
    const y = (north_nm) => 200 - (north_nm - d.centre_north_nm) * per;
    fills(d.circles, (element, c) =>
      put(element, { class: `nw-circle nw-${c.kind}`, cx: x(c.east_nm), cy: y(c.north_nm), r: c.radius_nm * per }));
    paths(d.lines, (element, line) => put(element, { class: `nw-line nw-${line.kind}`, d: polyline(line.east_nm, line.north_nm, x, y) }));
    signs(d.marks, (element, mark) =>
      put(element, {
        class: "nw-mark",
        transform: `translate(${x(mark.east_nm).toFixed(1)} ${y(mark.north_nm).toFixed(1)})`,
        d: mark.kind === "station" ? "M-8 0 a8 8 0 1 0 16 0 a8 8 0 1 0 -16 0 M-1.5 0 H1.5" : "M0 -7 L7 6 H-7Z",
      }));
    const labels = [
      ...d.marks.map((m) => [x(m.east_nm) + 14, y(m.north_nm) + 5, m.label]),
      ...d.lines.filter((l) => l.label).map((l) => {
        const at = Math.min(l.at, l.east_nm.length - 1);
        return [x(l.east_nm[at]) + 8, y(l.north_nm[at]) - 7, l.label];
      }),
      ...d.circles.filter((c) => c.label).map((c) => [x(c.east_nm) + c.radius_nm * per * 0.72 + 4, y(c.north_nm) - c.radius_nm * per * 0.72 - 3, c.label]),
    ].filter(([lx, ly]) => lx > 0 && lx < 400 && ly > 0 && ly < 400);
    names(labels, (element, [lx, ly, text]) => {
      const left = lx > 330;
      put(element, { class: "nw-small nw-halo", x: left ? lx - 28 : lx, y: Math.max(ly, 46), "text-anchor": left ? "end" : "start" });
      say(element, text);
    });
    const flying = d.aircraft_east_nm !== null;
    show(craft, flying);
    if (flying) {
      const ax = x(d.aircraft_east_nm), ay = y(d.aircraft_north_nm);
      put(craft, { transform: `translate(${ax.toFixed(2)} ${ay.toFixed(2)}) rotate(${d.heading_deg.toFixed(2)})` });
    }
    say(northText, d.north);
    show(wind, Boolean(d.wind_text));
    put(windArrow, { transform: `translate(374 24) rotate(${d.wind_from_deg})` });
    say(windText, d.wind_text);
    put(bar, { d: `M14 382 v6 h${(d.scale_nm * per).toFixed(1)} v-6` });
    say(barText, `${d.scale_nm} NM`);
  };
}

// ---------------------------------------------------------------- profile
function profile(svg) {
  put(svg, { viewBox: "0 0 640 300" });
  const hatch = `nw-hatch-${Math.random().toString(36).slice(2)}`;
  const pattern = add(add(svg, "defs"), "pattern", { id: hatch, width: 8, height: 8, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
  add(pattern, "line", { class: "nw-hatch", x1: 0, y1: 0, x2: 0, y2: 8 });
  add(svg, "rect", { class: "nw-paper", x: 0.5, y: 0.5, width: 639, height: 299, rx: 8 });
  const grid = pool(add(svg, "g"), "path");
  const gridText = pool(add(svg, "g"), "text");
  const blocks = pool(add(svg, "g"), "path");
  const minimum = add(svg, "path", { class: "nw-line nw-minimum" });
  const minimumText = add(svg, "text", { class: "nw-small nw-halo", "text-anchor": "end" });
  const marks = pool(add(svg, "g"), "path");
  const markText = pool(add(svg, "g"), "text");
  const paths = pool(add(svg, "g"), "path");
  const craft = drawnCraft(svg, "M15 0 H-14 M-12 0 L-16 -9");
  const floorText = pool(add(svg, "g"), "text");
  const axis = add(svg, "text", { class: "nw-small", x: 630, y: 292, "text-anchor": "end" });
  return (d) => {
    const [x0, x1, y0, y1] = [58, 622, 252, 34];
    const x = (nm) => x0 + ((nm - d.left_nm) / (d.right_nm - d.left_nm)) * (x1 - x0);
    const y = (ft) => y0 + ((ft - d.low_ft) / (d.high_ft - d.low_ft)) * (y1 - y0);
    grid(d.altitude_ticks_ft, (element, ft) => put(element, { class: "nw-grid", d: `M${x0} ${y(ft).toFixed(1)}H${x1}` }));
    gridText([...d.altitude_ticks_ft.map((ft) => [x0 - 7, y(ft) + 4, numberText(ft, 0), "end"]), ...d.distance_ticks.map(([nm, text]) => [x(nm), y0 + 18, text, "middle"])],
      (element, [tx, ty, text, anchor]) => {
        put(element, { class: "nw-small", x: tx, y: ty, "text-anchor": anchor });
        say(element, text);
      });
    blocks(d.floors, (element, [from, to, ft]) =>
      put(element, { class: "nw-floor", style: `fill:url(#${hatch})`, d: `M${x(from)} ${y0}V${y(ft)}H${x(to)}V${y0}Z` }));
    floorText(d.floors, (element, [from, to, ft]) => {
      put(element, { class: "nw-small nw-halo", x: (x(from) + x(to)) / 2, y: y(ft) + 15, "text-anchor": "middle" });
      say(element, numberText(ft, 0));
    });
    show(minimum, d.minimum_ft !== null);
    show(minimumText, d.minimum_ft !== null);
    if (d.minimum_ft !== null) {
      put(minimum, { d: `M${x(d.minimum_left_nm)} ${y(d.minimum_ft)}H${x1}` });
      put(minimumText, { x: x1 - 4, y: y(d.minimum_ft) - 6 });
      say(minimumText, d.minimum_label);
    }
    marks(d.marks, (element, [nm]) => put(element, { class: "nw-mark-line", d: `M${x(nm)} ${y0}V${y1}` }));
    markText(d.marks, (element, [nm, text], i) => {
      put(element, { class: "nw-small nw-halo", x: x(nm), y: y1 - 8, "text-anchor": x(nm) > 590 ? "end" : x(nm) < 90 ? "start" : "middle" });
      say(element, text);
    });
    paths(d.lines, (element, line) => put(element, { class: `nw-line nw-${line.kind}`, d: polyline(line.dist_nm, line.alt_ft, x, y) }));
    show(craft, d.aircraft_dist_nm !== null);
    if (d.aircraft_dist_nm !== null)
      put(craft, { transform: `translate(${x(d.aircraft_dist_nm).toFixed(2)} ${y(d.aircraft_alt_ft).toFixed(2)})` });
    say(axis, d.axis);
  };
}

// ---------------------------------------------------------------- course deviation
function deviation(svg) {
  put(svg, { viewBox: "0 0 300 220" });
  add(svg, "rect", { class: "nw-paper", x: 0.5, y: 0.5, width: 299, height: 219, rx: 8 });
  const title = add(svg, "text", { class: "nw-label", x: 16, y: 27 });
  add(svg, "text", { class: "nw-label", x: 214, y: 27, "text-anchor": "end" }, "course");
  const course = add(svg, "text", { class: "nw-digits", x: 284, y: 34, "text-anchor": "end" });
  for (let i = -5; i <= 5; i++)
    if (i) add(svg, "circle", { class: "nw-dot", cx: 150 + 24 * i, cy: 110, r: 4.5 });
  add(svg, "circle", { class: "nw-centre", cx: 150, cy: 110, r: 11 });
  const ends = [add(svg, "text", { class: "nw-label", x: 30, y: 176, "text-anchor": "middle" }), add(svg, "text", { class: "nw-label", x: 270, y: 176, "text-anchor": "middle" })];
  const needle = add(svg, "g");
  const bar = add(needle, "path", { d: "M150 64 V152" });
  const box = add(svg, "rect", { x: 95, y: 174, width: 110, height: 34, rx: 4 });
  const flag = add(svg, "text", { class: "nw-flag-text", x: 150, y: 198, "text-anchor": "middle" });
  return (d) => {
    say(title, d.title);
    say(course, three(d.course_deg));
    ends.forEach((end) => say(end, d.full_scale));
    put(needle, { transform: `translate(${(24 * Math.max(-5, Math.min(5, d.deviation_dots))).toFixed(2)} 0)` });
    put(bar, { class: d.reliable ? "nw-needle" : "nw-needle nw-unsure" });
    put(box, { class: d.flag === "NONE" ? "nw-flag nw-no-flag" : "nw-flag" });
    say(flag, d.flag === "NONE" ? "" : d.flag);
  };
}

// ---------------------------------------------------------------- heading
function heading(svg) {
  put(svg, { viewBox: "0 0 220 220" });
  add(svg, "rect", { class: "nw-paper", x: 0.5, y: 0.5, width: 219, height: 219, rx: 8 });
  const card = add(svg, "g");
  const names = ["N", "3", "6", "E", "12", "15", "S", "21", "24", "W", "30", "33"];
  for (let deg = 0; deg < 360; deg += 10) {
    add(card, "path", { class: deg % 30 ? "nw-tick" : "nw-tick nw-major", d: `M110 32 v${deg % 30 ? 7 : 12}`, transform: `rotate(${deg} 110 116)` });
    if (deg % 30 === 0) add(card, "text", { class: "nw-label", x: 110, y: 58, "text-anchor": "middle", transform: `rotate(${deg} 110 116)` }, names[deg / 30]);
  }
  const bug = add(card, "path", { class: "nw-bug", d: "M110 30 l7 8 l-7 8 l-7 -8Z" });
  add(svg, "path", { class: "nw-ink-fill", d: "M110 28 L102 12 H118Z" });
  add(svg, "path", { class: "nw-tick nw-major", d: "M110 84 V92 M110 140 V148" });
  const digits = add(svg, "text", { class: "nw-digits", x: 110, y: 121, "text-anchor": "middle" });
  add(svg, "text", { class: "nw-label", x: 110, y: 137, "text-anchor": "middle" }, "heading");
  const bank = add(svg, "path", { class: "nw-line nw-bank", d: "M-26 0 H-7 M7 0 H26 M-5 0 A5 5 0 0 0 5 0 M0 -5 V-12" });
  const bankText = add(svg, "text", { class: "nw-label nw-bank-text", x: 10, y: 212 });
  return (d) => {
    put(card, { transform: `rotate(${(-d.heading_deg).toFixed(2)} 110 116)` });
    show(bug, d.target_deg !== null);
    if (d.target_deg !== null) put(bug, { transform: `rotate(${d.target_deg} 110 116)` });
    say(digits, three(d.heading_deg));
    show(bank, d.bank_deg !== null);
    show(bankText, d.bank_deg !== null);
    if (d.bank_deg !== null) {
      put(bank, { transform: `translate(186 202) rotate(${d.bank_deg.toFixed(1)})` });
      const size = Math.round(Math.abs(d.bank_deg));
      say(bankText, size ? `${size}\u00b0 ${d.bank_deg > 0 ? "right" : "left"}` : "level");
    }
  };
}

// ---------------------------------------------------------------- dial with digits
function dial(svg) {
  put(svg, { viewBox: "0 0 180 180" });
  add(svg, "rect", { class: "nw-paper", x: 0.5, y: 0.5, width: 179, height: 179, rx: 8 });
  const ticks = pool(add(svg, "g"), "path");
  const numbers = pool(add(svg, "g"), "text");
  const target = add(svg, "path", { class: "nw-bug", d: "M90 22 l7 8 l-7 8 l-7 -8Z" });
  const hand = add(svg, "path", { class: "nw-hand", d: "M90 35 L97 49 H83Z" });
  const digits = add(svg, "text", { class: "nw-digits", x: 90, y: 102, "text-anchor": "middle" });
  const label = add(svg, "text", { class: "nw-label", x: 90, y: 78, "text-anchor": "middle" });
  const unit = add(svg, "text", { class: "nw-label", x: 90, y: 120, "text-anchor": "middle" });
  const scale = add(svg, "text", { class: "nw-tiny", x: 90, y: 136, "text-anchor": "middle" });
  let ready = false;
  return (d) => {
    const turn = (value) => d.rounds
      ? ((value - d.low) / (d.high - d.low)) * 360
      : -140 + (Math.max(0, Math.min(1, (value - d.low) / (d.high - d.low)))) * 280;
    if (!ready) {
      const places = [];
      for (let v = d.low; v < d.high + (d.rounds ? -1e-9 : 1e-9); v += d.step) places.push(v);
      ticks(places, (element, v) => put(element, { class: "nw-tick", d: "M90 28 v7", transform: `rotate(${turn(v)} 90 90)` }));
      numbers(places, (element, v) => {
        const a = (turn(v) * Math.PI) / 180;
        put(element, { class: "nw-tiny", x: 90 + 75 * Math.sin(a), y: 94 - 75 * Math.cos(a), "text-anchor": "middle" });
        say(element, minus(String(v / d.per)));
      });
      ready = true;
    }
    say(label, d.label);
    say(unit, d.unit);
    // An altimeter's numbers everybody reads as hundreds; its hand goes round.
    say(scale, d.per === 1 || d.rounds ? "" : `scale \u00d7${d.per}`);
    say(digits, numberText(Math.round(d.value / d.grain) * d.grain, 0));
    put(hand, { transform: `rotate(${turn(d.value).toFixed(2)} 90 90)` });
    show(target, d.target !== null);
    if (d.target !== null) put(target, { transform: `rotate(${turn(d.target).toFixed(2)} 90 90)` });
  };
}

// ---------------------------------------------------------------- digits
function digits(svg) {
  put(svg, { viewBox: "0 0 180 84" });
  const box = add(svg, "rect", { x: 0.5, y: 0.5, width: 179, height: 83, rx: 8 });
  const label = add(svg, "text", { class: "nw-label", x: 14, y: 23 });
  const value = add(svg, "text", { class: "nw-digits nw-large", x: 14, y: 65 });
  const unit = add(svg, "text", { class: "nw-label", x: 166, y: 23, "text-anchor": "end" });
  return (d) => {
    say(label, d.label);
    say(unit, d.unit);
    say(value, d.text || (d.value === null ? "\u2013 \u2013 \u2013" : d.clock ? clockText(d.value) : numberText(d.value, d.decimals)));
    const size = d.text.length > 13 ? "nw-phrase" : d.text.length > 6 ? "nw-word" : "nw-large";
    put(value, { class: `nw-digits ${size}` });
    put(box, { class: d.warn ? "nw-paper nw-warn" : "nw-paper" });
  };
}

// A page in front of the lessons draws with these as well.
export const FACES = { plan, profile, deviation, heading, dial, digits };

// ---------------------------------------------------------------- moving
export function between(from, to, part) {
  if (part >= 1 || !from) return to;
  const mixed = { ...to };
  for (const [key, end] of Object.entries(to)) {
    const start = from[key];
    if (typeof end !== "number" || typeof start !== "number") continue;
    const way = key.endsWith("_deg") ? ((((end - start) % 360) + 540) % 360) - 180 : end - start;
    mixed[key] = start + way * part;
  }
  return mixed;
}

function tag(parent, name, className, text = "") {
  const made = document.createElement(name);
  made.className = className;
  if (text) made.textContent = text;
  parent.append(made);
  return made;
}

// ipywidgets puts what is typed past the end of a slider to its end without a word.
const watched = new WeakSet();
function pastTheEnd(slider) {
  const readout = slider.querySelector(".widget-readout"), handle = slider.querySelector(".noUi-handle");
  if (!readout || !handle || watched.has(readout)) return;
  watched.add(readout);
  let typed = "";
  const note = document.createElement("div");
  note.className = "nw-past";
  note.setAttribute("role", "status");
  readout.addEventListener("input", () => { typed = readout.textContent; });
  const told = () => {
    const asked = Number(typed.replace(/[\s,]/g, "").replace("\u2212", "-")), [low, high] = ["min", "max"].map((end) => Number(handle.getAttribute(`aria-value${end}`)));
    const past = typed.trim() !== "" && (asked < low || asked > high);
    typed = "";
    if (!past) return;
    note.textContent = `${numberText(asked, asked % 1 ? 2 : 0)} lies past the end: from ${minus(String(low))} to ${minus(String(high))}.`;
    slider.append(note);
  };
  readout.addEventListener("blur", told);
  slider.addEventListener("pointerdown", () => note.remove());
  slider.addEventListener("keydown", (event) => { if (event.key === "Enter") told(); else note.remove(); });
}

// ipywidgets leaves the handle of a slider without a name for a screen reader; the name stands beside it. The reading
// beside it can be typed into by a click; Tab passes it, so that a slider is one stop.
function nameSliders(scope) {
  // What has been closed meanwhile has none.
  if (!scope) return;
  for (const slider of scope.querySelectorAll(".widget-slider")) {
    const text = slider.querySelector(".widget-label")?.textContent;
    const reading = slider.querySelector(".widget-readout")?.textContent;
    const handle = slider.querySelector(".noUi-handle");
    pastTheEnd(slider);
    slider.querySelector(".widget-readout")?.setAttribute("tabindex", "-1");
    if (!handle || !text) continue;
    handle.setAttribute("aria-label", text);
    if (reading) handle.setAttribute("aria-valuetext", `${text} ${reading}`);
  }
}

// The name of a key press as it stands in the list of keys: "Shift+ArrowLeft", "q", "Space".
function pressed(event) {
  const key = event.key === " " ? "Space" : event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return (event.shiftKey ? "Shift+" : "") + key;
}

const SIGNS = { ArrowLeft: "\u2190", ArrowRight: "\u2192", ArrowUp: "\u2191", ArrowDown: "\u2193", PageUp: "PgUp", PageDown: "PgDn", Shift: "\u21e7" };
const keySign = (name) => name.split("+").map((part) => SIGNS[part] || (part.length === 1 ? part.toUpperCase() : part)).join("");

// Buttons and keys. What they mean is Python's business: an action's name is all that is sent.
function pad(model, root, parent, foot, tools) {
  const send = (action) => model.send({ act: action });
  const box = tag(parent, "div", "nw-pad");
  const groups = {};
  const buttons = {};
  let waiting = "";
  root.tabIndex = 0;
  root.setAttribute("role", "group");
  root.setAttribute("aria-label", "Panel. Keys work while it has the focus; Escape leaves it.");
  // JupyterLab's own shortcuts stay out as long as the focus is in here, and only as long.
  root.setAttribute("data-lm-suppress-shortcuts", "true");
  for (const control of model.get("controls")) {
    if (!groups[control.group]) {
      const group = tag(box, "div", "nw-group");
      group.setAttribute("role", "group");
      const head = tag(group, "div", "nw-group-head");
      const name = tag(head, "span", "", control.group);
      groups[control.group] = { group, name, value: tag(head, "strong", ""), row: tag(group, "div", "nw-group-row"), actions: [] };
    }
    const button = tag(groups[control.group].row, "button", "nw-button nw-key-button");
    button.type = "button";
    const label = tag(button, "span", "", control.label);
    button.dataset.action = control.action;
    groups[control.group].actions.push(control.action);
    buttons[control.action] = { button, label, key: tag(button, "kbd", "nw-key"), control };
    button.addEventListener("click", () => {
      if (!root.classList.contains("nw-changing")) return send(control.action);
      waiting = control.action;
      for (const other of Object.values(buttons)) other.button.classList.toggle("nw-waiting", other.button === button);
    });
  }
  const help = tag(foot, "p", "nw-caution");
  const note = tag(foot, "p", "nw-caution nw-note");
  foot.prepend(note, help);
  const change = tag(tools, "button", "nw-button", "Change keys");
  change.type = "button";
  function changing(on) {
    root.classList.toggle("nw-changing", on);
    change.setAttribute("aria-pressed", String(on));
    waiting = "";
    for (const other of Object.values(buttons)) other.button.classList.remove("nw-waiting");
    help.textContent = on
      ? "Choose a button, then press its new key. Choose \u201cChange keys\u201d again when done."
      : "Keys work while the panel has the focus: click it, or reach it with Tab. Esc gives the keys back to the notebook.";
  }
  change.addEventListener("click", () => changing(!root.classList.contains("nw-changing")));
  changing(false);

  function assign(action, key) {
    const keys = { ...model.get("shortcuts") };
    const other = Object.keys(keys).find((name) => keys[name] === key);
    if (other) keys[other] = keys[action];
    keys[action] = key;
    model.set("shortcuts", keys);
    model.save_changes();
  }
  root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.key === "Tab" || event.key === "Shift") return;
    event.stopPropagation();
    if (event.key === "Escape") {
      if (waiting) changing(false);
      else document.activeElement.blur();
      return;
    }
    if (waiting) {
      event.preventDefault();
      assign(waiting, pressed(event));
      changing(true);
      return;
    }
    // A button that has the focus is pressed by Space and Enter like any other button.
    if (event.target.tagName === "BUTTON" && (event.key === " " || event.key === "Enter")) return;
    const keys = model.get("shortcuts");
    const action = Object.keys(keys).find((name) => keys[name] === pressed(event));
    if (!action) return;
    event.preventDefault();
    if (!model.get("absent").includes(action)) send(action);
  });

  function keyed() {
    const labels = model.get("labels");
    for (const [action, { button, label, key, control }] of Object.entries(buttons)) {
      const name = model.get("shortcuts")[action] || "";
      const [text, said] = labels[action] ?? [control.label, control.said];
      say(label, text);
      say(key, name ? keySign(name) : "");
      button.setAttribute("aria-label", said);
      button.title = name ? `${said} (${keySign(name)})` : said;
      if (name) button.setAttribute("aria-keyshortcuts", name);
    }
  }
  function told() {
    const readings = model.get("readings");
    say(note, model.get("note"));
    const heads = model.get("heads");
    for (const [name, group] of Object.entries(groups)) {
      say(group.value, readings[name] || "");
      say(group.name, heads[name] ?? name);
      put(group.group, { "aria-label": heads[name] ?? name });
      // Where nothing can be pressed nothing is shown; a hand that was there stays on the panel.
      const dead = [...model.get("absent"), ...model.get("unusable")];
      const gone = group.actions.every((action) => dead.includes(action));
      if (gone && group.group.contains(document.activeElement)) root.focus({ preventScroll: true });
      group.group.hidden = gone;
    }
    const lit = model.get("lit");
    for (const [action, { button }] of Object.entries(buttons)) {
      button.disabled = model.get("unusable").includes(action);
      button.hidden = model.get("absent").includes(action);
      if (action in lit) button.setAttribute("aria-pressed", String(lit[action]));
    }
  }
  model.on("change:shortcuts", keyed);
  model.on("change:labels", keyed);
  model.on("change:readings change:lit change:unusable change:absent change:heads change:note", told);
  keyed();
  told();
  return () => {
    model.off("change:shortcuts", keyed);
    model.off("change:labels", keyed);
    model.off("change:readings change:lit change:unusable change:absent change:heads change:note", told);
  };
}

// Lets the time of a what-if run. The clock is the browser's: after a second it has gone on by as many seconds as the
// button says, however slowly the kernel answers. A slow one leaves places out; none is asked for before the last has come.
const GIVEN_UP_MS = 15000; // no answer for so long: the kernel is gone

function player(model, button) {
  const { low, high, step, rate, label } = model.get("player");
  let from = 0, begun = 0, sent = 0, asked = null, frame = 0;
  const running = () => frame !== 0;
  function named() {
    say(button, `${running() ? "Stop" : "Play"}, \u00d7${rate}`);
    button.setAttribute("aria-label", `${running() ? "Stop" : "Play"}: ${label}, ${rate} times as fast`);
  }
  function stop() {
    cancelAnimationFrame(frame);
    frame = 0;
    asked = null;
    named();
  }
  function anchor(value) {
    from = value;
    begun = performance.now();
  }
  function onward(now) {
    frame = requestAnimationFrame(onward);
    if (asked !== null) {
      if (now - sent > GIVEN_UP_MS) stop();
      return;
    }
    const at = from + (rate * Math.max(0, now - begun)) / 1000;
    const place = Math.min(high, low + Math.floor((at - low) / step + 1e-6) * step);
    if (place <= model.get("at")) {
      if (model.get("at") >= high) stop();
      return;
    }
    asked = place;
    sent = now;
    model.send({ play: place });
  }
  function arrived() {
    if (!running()) return;
    const at = model.get("at");
    // Another place than the one asked for: a hand has moved the slider, and time runs on from there.
    if (at !== asked) anchor(at);
    asked = null;
  }
  button.addEventListener("click", () => {
    if (running()) return stop();
    const again = model.get("at") >= high;
    anchor(again ? low : model.get("at"));
    if (again) model.send({ play: low });
    asked = again ? low : null;
    sent = begun;
    frame = requestAnimationFrame(onward);
    named();
  });
  model.on("change:at", arrived);
  named();
  return {
    running,
    end() {
      stop();
      model.off("change:at", arrived);
    },
  };
}

const LARGEST_UNIT = 1.6;
// Below these the small print of a face is too small to read; that of a panel grows against it.
const SMALLEST_UNIT = 0.72;
const SMALLEST_PANEL = 0.64;
// On a small or much enlarged screen what is seen together counts for more than its size.
const SMALLEST_SINGLE = 0.45;
const SMALLEST_FLAT = 0.36;
const FLAT_SHARE = 0.55;

function board(model, el) {
  const root = tag(el, "div", "nw-board");
  const flown = model.get("controls").length > 0;
  // A panel says what is to be done above its instruments, a what-if what is seen below its picture.
  const above = flown ? tag(root, "p", "nw-sentence") : null;
  const cabin = tag(root, "div", flown ? "nw-cabin" : "");
  const left = tag(cabin, "div", "nw-left");
  const stage = tag(left, "div", "nw-stage");
  const side = flown ? tag(cabin, "div", "nw-side") : null;
  const sentence = above ?? tag(root, "p", "nw-sentence");
  const how = side ? tag(side, "p", "nw-caution nw-how", "Scroll here for all buttons; the instruments stay.") : null;
  const foot = tag(side ?? root, "div", "nw-foot");
  const tools = tag(foot, "div", "nw-tools");
  const play = "label" in model.get("player") ? tag(tools, "button", "nw-button nw-play") : null;
  const playing = play ? player(model, play) : null;
  // A panel has its own button for this, with a key.
  const speak = flown ? null : tag(tools, "button", "nw-button", "Read out");
  const numbers = flown ? null : tag(tools, "button", "nw-button", "Numbers");
  const size = tag(tools, "button", "nw-button", "Classroom size");
  const padded = flown ? pad(model, root, side, foot, tools) : () => {};
  tag(tools, "span", "nw-caution", "Training aid with invented data. Not for navigation.");
  const live = tag(root, "div", "nw-spoken");
  live.setAttribute("aria-live", "polite");
  const table = tag(root, "div", "nw-numbers");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const scope = () => root.closest(".nw-whatif");
  const parts = {};

  // A row holds faces beside each other; a list within it is a stack of faces.
  function place(parent, entries, upright) {
    for (const entry of entries) {
      if (Array.isArray(entry)) {
        place(tag(parent, "div", upright ? "nw-row" : "nw-column"), entry, !upright);
        continue;
      }
      const data = model.get("state")[entry];
      const svg = add(parent, "svg", { class: `nw-face nw-face-${data.kind}`, role: "img", "data-face": entry });
      parts[entry] = { svg, draw: FACES[data.kind](svg), shown: null, from: null };
    }
  }
  const columns = model.get("layout_names");
  place(stage, flown ? columns.slice(0, 1) : columns, false);
  if (flown) place(side, columns.slice(1), false);

  let since = 0;
  let last = 0;
  let glide = 0;
  let frame = 0;
  function paint(part) {
    for (const [name, piece] of Object.entries(parts)) {
      const target = model.get("state")[name];
      if (piece.shown === target) continue;
      piece.shown = between(piece.from, target, part);
      piece.draw(piece.shown);
    }
  }
  function step(now) {
    const part = Math.max(0, Math.min(1, (now - since) / glide));
    paint(part);
    frame = part < 1 ? requestAnimationFrame(step) : 0;
  }
  function moved() {
    for (const [name, piece] of Object.entries(parts)) {
      const data = model.get("state")[name];
      put(piece.svg, { "aria-label": data.words });
      show(piece.svg, !data.hidden);
      piece.from = piece.shown;
    }
    const now = performance.now();
    // While time plays, the way to the next place takes as long as the place took to come; under the hand it jumps.
    glide = playing?.running() ? Math.min(400, now - last) : model.get("glide_ms");
    last = now;
    if (glide > 0 && !still.matches) {
      since = now;
      if (!frame) frame = requestAnimationFrame(step);
    } else {
      paint(1);
    }
    // Python sends the next picture when this one has come: a slow browser drops pictures, it never queues them.
    if (model.get("tick")) model.send({ seen: model.get("tick") });
  }
  function told() {
    say(sentence, model.get("sentence"));
    sentence.hidden = !model.get("sentence");
  }
  function listed() {
    table.replaceChildren();
    if (!model.get("numbers").length) return;
    const made = tag(table, "table", "");
    tag(made, "caption", "", "Where everything stands");
    for (const [what, reading, range] of model.get("numbers")) {
      const row = tag(made, "tr", "");
      tag(row, "th", "", what).scope = "row";
      tag(row, "td", "", reading);
      tag(row, "td", "", range);
    }
  }
  // Of many knobs one at a time, where all of them would push the picture out of sight.
  let which = null;
  function choose() {
    const knobs = scope()?.querySelector(".nw-knobs");
    if (!knobs) return;
    const all = [...knobs.children];
    if (!which) {
      which = document.createElement("select");
      which.className = "nw-which";
      which.setAttribute("aria-label", "What is moved");
      which.append(...all.map(() => document.createElement("option")));
      which.addEventListener("change", choose);
      knobs.before(which);
    }
    all.forEach((knob, n) => {
      const value = knob.querySelector(".widget-readout, select option:checked")?.textContent;
      say(which.options[n], (knob.querySelector(".widget-label, label")?.textContent ?? "").trim() + (value ? `: ${value}` : ""));
      knob.classList.toggle("nw-chosen", n === which.selectedIndex);
    });
  }
  function named() {
    nameSliders(scope());
    if (which) choose();
  }
  const sight = () => Math.min(root.closest(".jp-WindowedPanel-outer")?.clientHeight ?? Infinity, window.innerHeight);
  // As large as the room allows, as small as can still be read: what moves it and what shows it in sight together.
  function unit(largest) {
    const smallest = side ? SMALLEST_PANEL : SMALLEST_UNIT, whole = scope() ?? root, gap = 10, seen = sight();
    let now = 1;
    const setUnit = (value) => {
      now = value;
      root.style.setProperty("--nw-unit", `${value.toFixed(3)}px`);
      root.style.setProperty("--nw-print", Math.max(1, Math.min(1.25, 0.9 / value)).toFixed(3));
    };
    const over = () => whole.offsetHeight - table.offsetHeight - seen + gap;
    whole.classList.remove("nw-stacked", "nw-single", "nw-aside", "nw-flat");
    if (side) { root.prepend(sentence); side.append(foot); }
    setUnit(1);
    stage.style.width = "max-content"; // else a narrow room would shrink what is to be measured
    const boxes = [...stage.children].map((child) => child.getBoundingClientRect());
    const wide = boxes.reduce((sum, box) => sum + box.width + gap, 0);
    const high = Math.max(...boxes.map((box) => box.height), 1);
    stage.style.width = "";
    const knobs = scope()?.querySelector(".nw-knobs"), beside = side ?? knobs;
    const room = (whole.parentElement?.clientWidth ?? window.innerWidth) - 2 * gap;
    const needs = side ? parseFloat(getComputedStyle(side).minWidth) : beside ? beside.offsetWidth : 0;
    const words = sentence.offsetHeight + (side ? 0 : tools.offsetHeight) + 4 * gap;
    const next = (room - (beside ? needs + 2 * gap : 0)) / wide;
    const stacked = next < smallest || (knobs?.offsetHeight ?? 0) > seen;
    whole.classList.toggle("nw-stacked", stacked);
    setUnit(Math.min(largest, stacked ? room / wide : next, Math.max(smallest, (seen - words) / high)));
    if (side && stacked) {
      // The instruments keep their place and take half the screen; all else is scrolled beneath them.
      whole.classList.add("nw-flat");
      root.style.setProperty("--nw-seen", `${seen - 2 * gap}px`);
      side.prepend(how, sentence);
      while (now > SMALLEST_FLAT && stage.offsetHeight > FLAT_SHARE * seen) setUnit(now - 0.02);
      return;
    }
    if (side) {
      // What is read once stands under the shorter of the two.
      if (left.offsetHeight < side.offsetHeight - foot.offsetHeight) left.append(foot);
      const longer = left.offsetHeight - side.offsetHeight;
      if (over() > 0 && longer > 0) setUnit(Math.max(smallest, now - Math.min(over(), longer) / high));
      // Narrower instruments give the buttons longer lines.
      while (over() > 0 && now > smallest) setUnit(now - 0.02);
      return;
    }
    // Smaller pictures may leave the words fewer letters a line: what is too high now is taken off once more.
    const most = now, fit = (least) => over() > 0 && setUnit(Math.max(least, now - over() / high));
    fit(smallest);
    if (!stacked || !knobs || over() <= 0) return;
    choose();
    if (knobs.contains(document.activeElement)) {
      which.selectedIndex = [...knobs.children].findIndex((knob) => knob.contains(document.activeElement));
      choose();
    }
    whole.classList.add("nw-single");
    const largestThatFits = () => {
      setUnit(most);
      while (over() > 0 && now > SMALLEST_SINGLE) setUnit(now - 0.02);
      return now;
    };
    // The words stand below the picture, or beside it where that leaves it larger.
    const below = largestThatFits(), least = over() > 0 ? 0 : below;
    whole.classList.add("nw-aside");
    if (largestThatFits() > least && over() <= 0) return;
    whole.classList.remove("nw-aside");
    setUnit(below);
  }
  let known = "";
  const roomNow = () => `${(scope() ?? root).parentElement?.clientWidth} ${sight()}`;
  function sized() {
    const large = model.get("size") === "classroom";
    root.classList.toggle("nw-classroom", large);
    size.setAttribute("aria-pressed", String(large));
    known = roomNow();
    if (root.offsetParent) unit(large ? LARGEST_UNIT : 1);
  }
  function roomed() {
    if (known !== roomNow()) sized();
  }
  function speakOut() {
    live.textContent = "";
    requestAnimationFrame(() => (live.textContent = model.get("spoken") || model.get("sentence")));
  }
  for (const button of [play, speak, numbers, size]) if (button) button.type = "button";
  if (speak) {
    speak.title = "Let a screen reader speak what the picture shows";
    speak.addEventListener("click", speakOut);
  }
  function opened() {
    numbers?.setAttribute("aria-expanded", String(model.get("numbers_shown")));
  }
  if (numbers) {
    numbers.title = "Show the same as a table";
    numbers.addEventListener("click", () => {
      model.set("numbers_shown", !model.get("numbers_shown"));
      model.save_changes();
    });
  }
  size.addEventListener("click", () => {
    model.set("size", model.get("size") === "classroom" ? "normal" : "classroom");
    model.save_changes();
    (scope() ?? root).scrollIntoView({ block: "nearest" });
  });
  window.addEventListener("resize", roomed);
  const watching = new ResizeObserver(roomed);
  const naming = (event) => scope()?.contains(event.target) && named();
  document.addEventListener("focusin", naming);
  const growing = new MutationObserver(named);
  requestAnimationFrame(() => {
    sized();
    const whole = (scope() ?? root).parentElement;
    if (whole) watching.observe(whole);
    const outer = root.closest(".jp-WindowedPanel-outer");
    if (outer) watching.observe(outer);
    const knobs = scope()?.querySelector(".nw-knobs");
    if (!knobs) return;
    named();
    growing.observe(knobs, { childList: true, subtree: true });
  });

  model.on("change:state", moved);
  model.on("change:sentence", told);
  model.on("change:numbers", listed);
  model.on("change:numbers_shown", opened);
  model.on("change:size", sized);
  model.on("change:asked", speakOut);
  moved();
  told();
  listed();
  opened();
  return () => {
    document.removeEventListener("focusin", naming);
    which?.remove();
    window.removeEventListener("resize", roomed);
    watching.disconnect();
    growing.disconnect();
    cancelAnimationFrame(frame);
    playing?.end();
    padded();
    model.off("change:state", moved);
    model.off("change:sentence", told);
    model.off("change:numbers", listed);
    model.off("change:numbers_shown", opened);
    model.off("change:size", sized);
    model.off("change:asked", speakOut);
  };
}

export default {
  render({ model, el }) {
    return board(model, el);
  },
};
