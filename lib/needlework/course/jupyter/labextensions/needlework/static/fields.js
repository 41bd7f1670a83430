// Fields a pilot answers in. Each control says what it holds as text for the cell, and shows what the cell holds.

export function tag(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) if (value !== null && value !== false) made.setAttribute(key, value === true ? "" : value);
  made.append(...inside);
  return made;
}

// A text with **bold** words and `typed` ones, as the lessons write it.
export function marked(text) {
  const made = document.createDocumentFragment();
  for (const part of text.split(/(\*\*[^*]+\*\*|(?<=^|[\s(])\*[^\s*][^*]*\*|`[^`]+`|\n)/)) {
    if (part === "\n") made.append(tag("br"));
    else if (/^\*\*.+\*\*$/.test(part)) made.append(tag("b", {}, part.slice(2, -2)));
    else if (/^\*[^*]+\*$/.test(part)) made.append(tag("em", {}, part.slice(1, -1)));
    else if (/^`.+`$/.test(part)) made.append(tag("code", {}, part.slice(1, -1)));
    else made.append(part);
  }
  return made;
}

let counted = 0;
const newId = () => `nl-${++counted}`;

// What every control shares: a name, a line under it for what was read or why it cannot be, and its own way back.
function framed(label, note, body, classes = "") {
  const line = tag("div", { class: "nl-read", id: newId() });
  const node = tag("div", { class: `nl-control ${classes}` }, ...(label ? [label] : []), body, ...(note ? [note] : []), line);
  return {
    node, line,
    say(text, wrong = false) {
      line.textContent = text;
      line.classList.toggle("nl-wrong", wrong);
    },
  };
}

// The browser's own way back does not reach a field inside a notebook.
function wayBack(get, set, changed) {
  const past = [];
  return {
    note() { if (past.at(-1) !== get()) past.push(get()); if (past.length > 200) past.shift(); },
    key(event) {
      if (event.key.toLowerCase() !== "z" || !(event.ctrlKey || event.metaKey) || event.shiftKey) return false;
      event.preventDefault();
      if (past.length) { set(past.pop()); changed(); }
      return true;
    },
  };
}

function typedControl(reading, cell, title, wide, read, unit) {
  const id = newId(), unitId = newId(), words = cell.unit || cell.label;
  const input = tag("input", { type: "text", id, autocomplete: "off", autocapitalize: "off", spellcheck: "false", inputmode: wide ? "text" : "decimal" });
  const label = tag("label", { for: id, id: newId() }, cell.label ? marked(cell.label) : "Your answer");
  if (!cell.label) input.setAttribute("aria-labelledby", `${title} ${label.id} ${unitId}`);
  const behind = tag("span", { class: "nl-unit", id: unitId }, unit);
  const frame = framed(label, null, tag("span", { class: "nl-typed" }, input, behind), wide ? "nl-wide" : "nl-number");
  input.setAttribute("aria-describedby", `${unitId} ${frame.line.id}`);
  const back = wayBack(() => input.value, (text) => { input.value = text; }, () => control.changed());
  const control = {
    node: frame.node, first: input, changed() {}, entered() {},
    get() {
      try {
        const literal = reading.strict(read(input.value));
        input.removeAttribute("aria-invalid");
        const said = wide ? "" : reading.saidBack(input.value, literal, words, unit);
        frame.say(said ? `Read as ${said}` : "");
        return literal;
      } catch (fault) {
        input.setAttribute("aria-invalid", "true");
        frame.say(fault.message, true);
        throw fault;
      }
    },
    set(literal) {
      if (document.activeElement !== input || !input.value) input.value = wide ? reading.shownOf(literal) : reading.inField(literal, words);
      input.removeAttribute("aria-invalid");
    },
    draft: () => input.value,
    redraft(text) { input.value = text; },
    clear() { frame.say(""); },
    takes: (key) => key.length === 1 && key !== " ",
  };
  input.addEventListener("beforeinput", (event) => { if (event.inputType.startsWith("history")) event.preventDefault(); else back.note(); });
  input.addEventListener("input", () => { frame.say(""); input.removeAttribute("aria-invalid"); control.touched?.(); });
  input.addEventListener("change", () => control.changed());
  input.addEventListener("keydown", (event) => {
    if (back.key(event)) return;
    if (event.key === "Enter") { event.preventDefault(); control.entered(event.shiftKey); }
  });
  return control;
}

// Several lines in words: Enter begins a new one, Ctrl and Enter are done.
function textControl(reading, title) {
  const id = newId(), input = tag("textarea", { id, rows: "6", maxlength: "8000" });
  const label = tag("label", { for: id, id: newId() }, "Your answer");
  input.setAttribute("aria-labelledby", `${title} ${label.id}`);
  const frame = framed(label, tag("p", { class: "nl-how" }, "In your own words; your instructor reads it. Ctrl with Enter notes it."), input, "nl-wide nl-text");
  const back = wayBack(() => input.value, (text) => { input.value = text; }, () => control.changed());
  const control = {
    node: frame.node, first: input, changed() {}, entered() {},
    get() { return input.value.trim() ? reading.strict(reading.quoted(input.value.trim())) : "None"; },
    set(literal) { if (document.activeElement !== input || !input.value) input.value = reading.shownOf(literal); },
    draft: () => input.value,
    redraft(text) { input.value = text; },
    clear() { frame.say(""); },
    takes: (key) => key.length === 1 && key !== " ",
  };
  input.addEventListener("beforeinput", (event) => { if (event.inputType.startsWith("history")) event.preventDefault(); else back.note(); });
  input.addEventListener("input", () => { frame.say(""); control.touched?.(); });
  input.addEventListener("change", () => control.changed());
  input.addEventListener("keydown", (event) => {
    if (back.key(event)) return;
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) { event.preventDefault(); control.entered(false); }
    event.stopPropagation();
  });
  return control;
}

function pickControl(reading, cell, title, rows) {
  const name = newId();
  const short = rows.every((option) => !option.text || option.letter === option.text);
  const legend = tag("legend", { class: cell.label ? "" : "nl-hidden" }, cell.label ? marked(cell.label) : "Your answer");
  const set = tag("fieldset", { class: short ? "nl-words" : "nl-options", role: "radiogroup" }, legend);
  // Of many words those that find no room beside their label stay under each other, not under the label.
  const picks = tag("span", { class: "nl-picks" });
  set.append(picks);
  if (!cell.label) set.setAttribute("aria-labelledby", title);
  const radios = rows.map((option) => {
    const radio = tag("input", { type: "radio", name, value: option.letter, id: newId() });
    const words = short ? [option.letter] : [tag("b", {}, option.letter), " ", tag("span", {}, marked(option.text))];
    picks.append(tag("label", { for: radio.id }, radio, ...words));
    return radio;
  });
  const frame = framed(null, null, set);
  set.setAttribute("aria-describedby", frame.line.id);
  const chosen = () => radios.find((radio) => radio.checked)?.value ?? "";
  // The choice that a letter stands for.
  const meant = (key) => {
    if (key.length !== 1) return null;
    const letter = key.toLowerCase();
    return radios.find((radio) => radio.value.toLowerCase() === letter) ?? (short ? radios.find((radio) => radio.value[0].toLowerCase() === letter) : null);
  };
  const put = (text) => radios.forEach((radio) => { radio.checked = radio.value === text; });
  const back = wayBack(chosen, put, () => control.changed());
  let last = "";
  const control = {
    node: frame.node, first: radios[0], changed() {}, entered() {},
    get() { return chosen() ? reading.quoted(chosen()) : "None"; },
    set(literal) { put(reading.shownOf(literal)); last = chosen(); },
    draft: chosen,
    redraft(text) { put(text); last = chosen(); },
    clear() { frame.say(""); },
    focus(still = false) { (radios.find((radio) => radio.checked) ?? radios[0]).focus({ preventScroll: still }); },
    takes: (key) => Boolean(meant(key)),
    typed(event) {
      event.preventDefault();
      const radio = meant(event.key);
      radio.checked = true;
      radio.focus();
      picked();
    },
  };
  const picked = () => { const now = chosen(); put(last); back.note(); put(now); last = now; control.touched?.(); control.changed(); };
  set.addEventListener("change", picked);
  set.addEventListener("keydown", (event) => {
    if (back.key(event)) { last = chosen(); return; }
    if (event.key === "Enter") { event.preventDefault(); control.entered(event.shiftKey); return; }
    const by = { ArrowUp: -1, ArrowLeft: -1, ArrowDown: 1, ArrowRight: 1 }[event.key];
    if (by && !event.ctrlKey && !event.metaKey && !event.altKey) {
      // As a browser does it by itself; but the notebook beneath would take the key for its own headings.
      event.preventDefault();
      event.stopPropagation();
      const next = radios[(radios.indexOf(document.activeElement) + by + radios.length) % radios.length];
      next.checked = true;
      next.focus();
      picked();
      return;
    }
    if (!event.ctrlKey && !event.metaKey && !event.altKey && control.takes(event.key)) control.typed(event);
  });
  return control;
}

function cardsControl(reading, options, title) {
  const list = tag("ol", { class: "nl-cards", "aria-labelledby": title });
  const frame = framed(null, tag("p", { class: "nl-how" }, "Move the cards into order: drag them, use the arrows beside them, or Ctrl with the arrow keys."), list);
  let order = options.map((option) => option.letter), begun = false, dragged = null;
  const cards = new Map();
  const control = {
    node: frame.node, first: null, changed() {}, entered() {},
    get() { return begun ? reading.quoted(order.join("")) : "None"; },
    set(literal) {
      const letters = [...reading.shownOf(literal).toUpperCase()].filter((letter) => cards.has(letter));
      begun = letters.length === order.length && new Set(letters).size === order.length;
      if (begun) { order = letters; lay(); }
    },
    draft: () => (begun ? order.join("") : ""),
    redraft(text) { control.set(reading.quoted(text)); },
    clear() { frame.say(""); },
    // The order that stands there is an answer too, once it is given.
    take() { begun = true; },
  };
  const lay = () => {
    if (order.every((letter, place) => list.children[place] === cards.get(letter))) return;
    // A card that is taken out and put in again has lost the focus.
    const held = list.contains(document.activeElement) ? document.activeElement : null;
    order.forEach((letter) => list.append(cards.get(letter)));
    held?.focus({ preventScroll: true });
  };
  const back = wayBack(() => order.join(""), (text) => { order = [...text]; lay(); }, () => control.changed());
  const move = (letter, by, to = order.indexOf(letter) + by) => {
    if (to < 0 || to >= order.length) return;
    back.note();
    order = order.filter((each) => each !== letter);
    order.splice(to, 0, letter);
    begun = true;
    lay();
    control.touched?.();
    control.changed();
    frame.say(`${letter} is now number ${to + 1} of ${order.length}.`);
  };
  for (const option of options) {
    const words = tag("span", { class: "nl-card-words" }, tag("b", {}, option.letter), " ", marked(option.text));
    const button = (sign, by, said) => {
      const made = tag("button", { type: "button", class: "nl-small", "aria-label": `Move ${option.letter} ${said}`, tabindex: "-1" }, sign);
      made.addEventListener("click", () => { move(option.letter, by); made.focus(); });
      return made;
    };
    const card = tag("li", { tabindex: "0", draggable: "true" }, words, button("▲", -1, "up"), button("▼", 1, "down"));
    card.addEventListener("keydown", (event) => {
      if (event.target !== card && event.key === "Enter") return;
      if (back.key(event)) return;
      if (event.key === "Enter") { event.preventDefault(); control.entered(event.shiftKey); return; }
      const by = { ArrowUp: -1, ArrowDown: 1 }[event.key];
      if (!by) return;
      event.preventDefault();
      if (event.ctrlKey || event.metaKey || event.altKey) { move(option.letter, by); card.focus(); }
      else (by < 0 ? card.previousElementSibling : card.nextElementSibling)?.focus();
    });
    card.addEventListener("dragstart", (event) => { dragged = option.letter; event.dataTransfer.effectAllowed = "move"; event.stopPropagation(); });
    card.addEventListener("dragover", (event) => { if (dragged) { event.preventDefault(); event.stopPropagation(); } });
    card.addEventListener("drop", (event) => {
      event.preventDefault(); event.stopPropagation();
      if (dragged && dragged !== option.letter) move(dragged, 0, order.indexOf(option.letter));
      dragged = null;
    });
    cards.set(option.letter, card);
  }
  lay();
  control.first = list.firstChild;
  return control;
}

// One control a value: for a question of one value its own, for a table or a plan one a cell.
export function controlsFor(reading, question, values, title, note) {
  const { kind } = question;
  const number = (cell) => typedControl(reading, cell, title, false, (typed) => reading.numberFrom(typed, cell.unit, cell.label), cell.said ?? cell.unit);
  if (kind === "choice") return [pickControl(reading, { label: "" }, title, question.options)];
  if (kind === "text") return [textControl(reading, title)];
  if (kind === "order") return [cardsControl(reading, question.options, title)];
  if (kind === "rule") return [typedControl(reading, { label: "", unit: "" }, title, true, reading.ruleFrom, question.unit)];
  if (kind === "table" || kind === "plan") {
    return question.cells.map((cell, place) => {
      const said = cell.unit || numberNote(values[place]?.note ?? "") || "";
      return cell.kind === "choice" ? pickControl(reading, cell, title, cell.options) : number({ ...cell, said });
    });
  }
  return [number({ label: "", unit: question.unit, said: question.unit || note })];
}

// What stands behind an answer as a note is for a keyboard without fields; of it, only a unit is worth showing here.
const numberNote = (note) => (/^(\d+|.*(letter|quotation|example|"))/.test(note) ? "" : note);

export function nameControl(reading, words) {
  const control = typedControl(reading, { label: words, unit: "" }, "", true, reading.nameFrom, "");
  control.first.setAttribute("autocomplete", "name");
  return control;
}
