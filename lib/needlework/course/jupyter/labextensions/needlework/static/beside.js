// A plate beside its questions: it stays where it is while they are read and answered, and the place in the lesson too.

const KEY = "F2", NARROW_PX = 900;
const PLATE = /^plate\.show/m;
// A flight has its procedure by the file's name, which is a part of the field's.
const named = ({ said, procedure }, name) => said.includes(name) || (procedure !== "" && name.toLowerCase().includes(procedure.toLowerCase()));

export class Beside {
  constructor(view) {
    this.view = view;
    const { tag, panel } = view;
    this.button = tag("button", { type: "button", class: "nl-button", "aria-expanded": "false", hidden: true, title: `The plate beside the questions, and away again: ${KEY}` }, "Plate beside");
    this.button.addEventListener("click", () => this.turn());
    view.plates.append(this.button);
    this.names = tag("div", { class: "nl-beside-names", role: "group", "aria-label": "Which plate" });
    this.sheet = tag("div", { class: "nl-beside-sheet", tabindex: "0", role: "region", "aria-label": "The plate itself" });
    const way = (words, said, press) => {
      const made = tag("button", { type: "button", class: "nl-button", "aria-label": said }, words);
      made.addEventListener("click", press);
      return made;
    };
    this.size = 1;
    const larger = way("+", "Larger", () => this.grow(1.25)), smaller = way("−", "Smaller", () => this.grow(0.8));
    const away = way("Put away", "Put the plate away", () => this.turn(false));
    this.node = tag("aside", { class: "nl-beside", "aria-label": "Plate", hidden: true, "data-lm-suppress-shortcuts": "true" },
      tag("div", { class: "nl-beside-head" }, this.names, smaller, larger, away), this.sheet);
    panel.node.append(this.node);
    // Before the notebook and the panel of instruments, which have keys of their own.
    panel.node.addEventListener("keydown", (event) => {
      if (event.key === KEY && !this.button.hidden) { event.preventDefault(); event.stopPropagation(); this.turn(); }
      if (event.key === "Escape" && this.node.contains(event.target)) { event.stopPropagation(); this.turn(false); }
    }, true);
    const laid = new ResizeObserver(() => this.lay());
    // The notebook moves down where its own buttons are shown above it.
    for (const each of [panel.node, panel.content.node]) laid.observe(each);
  }

  // The plates of a sitting, as far as they are drawn: name and picture with its words. Besides those shown in it, those
  // the lesson has shown elsewhere and a question or flight of this sitting is about.
  plates() {
    const found = [], { view } = this;
    for (const cell of view.panel.content.widgets) {
      if (cell.model.type !== "code" || !PLATE.test(cell.model.sharedModel.getSource())) continue;
      const figure = cell.node.querySelector("figure");
      if (!figure) continue;
      const said = figure.querySelector("img")?.alt ?? "";
      found.push({ cell, figure, words: cell.node.querySelector("details"), name: said.split(/[:,.]/)[0].replace(/^Plate of /, "").trim() || "Plate" });
    }
    const about = view.here().filter((cell) => view.items.get(cell)?.question.kind !== "choice").map((cell) => this.about(cell));
    const shown = found.filter((each) => view.place.get(each.cell) === view.sitting), names = new Set(shown.map((each) => each.name));
    for (const each of found) {
      if (names.has(each.name) || !about.some((words) => named(words, each.name))) continue;
      names.add(each.name);
      shown.push(each);
    }
    // The same plate twice in a sitting, once with a fault in it: its section tells which.
    for (const each of shown) {
      const alike = shown.filter((other) => other.name === each.name).length > 1;
      const title = alike ? this.view.bare(this.section(each.cell)) : "";
      each.label = title ? `${each.name}: ${title}` : each.name;
    }
    return shown;
  }

  // The words of a question and of the flight that is flown for it: they name their procedure.
  about(cell) {
    const { question } = this.view.items.get(cell) ?? {};
    return question ? { said: question.prompt + question.given, procedure: this.view.flights.get(cell) ?? "" } : { said: "", procedure: "" };
  }

  // Called when a sitting is turned to or a cell has shown something.
  look() {
    const plates = this.plates(), there = plates.length > 0;
    this.button.hidden = !there;
    if (this.node.hidden) return;
    if (!there) this.turn(false);
    else if (!plates.some((each) => each.cell === this.cell)) this.put(plates, this.meant(plates));
  }

  section(cell) {
    const cells = [...this.view.panel.content.widgets], at = cells.indexOf(cell);
    return this.view.sections.findLast((each) => cells.indexOf(each.cell) <= at);
  }

  // Whoever comes to a question about another plate, or reads that plate itself, has it beside; another one may be chosen there.
  follow(cell) {
    if (this.node.hidden || !cell || this.followed === cell) return;
    this.followed = cell;
    const spot = this.view.here().find((each) => each.node === cell), plates = this.plates();
    const one = spot && this.of(spot, plates);
    if (one && one.cell !== this.cell) this.put(plates, one);
  }

  // The last of some plates that stands no lower in the sitting than a place.
  above(plates, spot) {
    const here = this.view.here(), end = here.indexOf(spot);
    return plates.findLast((each) => here.includes(each.cell) && here.indexOf(each.cell) <= end);
  }

  // The plate a question names, or the last one above it in its section; of two that it names the one nearest above it.
  of(spot, plates) {
    const words = this.about(spot), meant = plates.filter((each) => named(words, each.name));
    const those = meant.length ? meant : plates.filter((each) => this.section(each.cell) === this.section(spot));
    return this.above(those, spot) ?? meant.at(-1);
  }

  // The plate of the place that is read, else the last one above it.
  meant(plates) {
    const spot = this.spot();
    return (spot && this.of(spot, plates)) ?? this.above(plates, spot) ?? plates[0];
  }

  // The cell that is worked in, or the first one in sight.
  spot() {
    const { view } = this, room = view.room(), held = document.activeElement?.closest?.(".jp-Cell");
    const here = view.here(), seen = (cell) => { const box = cell.node.getBoundingClientRect(); return box.bottom > room.top + 60 && box.top < room.bottom; };
    return here.find((cell) => cell.node === held && seen(cell)) ?? here.find((cell) => seen(cell) && view.items.has(cell)) ?? here.find(seen);
  }

  turn(yes = this.node.hidden) {
    const { view } = this;
    if (yes === !this.node.hidden) return;
    // Its width changes, and with it where everything stands: what was looked at stays at its height.
    const spot = this.spot(), held = document.activeElement, from = (spot?.node.getBoundingClientRect().top ?? 0) - view.room().top;
    const plates = yes ? this.plates() : [];
    if (yes && !plates.length) return;
    this.node.hidden = !yes;
    this.button.setAttribute("aria-expanded", String(yes));
    this.button.textContent = yes ? "Plate away" : "Plate beside";
    view.panel.node.classList.toggle("nl-has-beside", yes);
    if (yes) { this.put(plates, this.meant(plates)); this.lay(); }
    if (spot) {
      view.hold(() => {
        const box = spot.node.getBoundingClientRect(), room = view.room();
        // Where there is less room than before, the end of the question, with its field, is what is wanted.
        const wanted = room.top + Math.min(from, Math.max(0, room.height - box.height));
        view.outer().scrollTop += box.top - (from < 0 ? room.top + from : wanted);
        // A question longer than the room: the field that is worked in comes first.
        if (!spot.node.contains(held) || held === spot.node) return;
        const field = held.getBoundingClientRect();
        view.outer().scrollTop += Math.max(0, field.bottom + 8 - room.bottom) - Math.max(0, room.top - field.top + 8);
      });
    }
    if (!yes && this.node.contains(held)) (this.back?.isConnected ? this.back : this.button).focus({ preventScroll: true });
    this.back = yes && view.panel.content.node.contains(held) ? held : this.back;
    view.live.textContent = yes ? `The plate of ${this.shown} is beside the question. ${KEY} puts it away.` : "The plate is put away.";
  }

  put(plates, one) {
    const { tag } = this.view;
    this.shown = one.name;
    this.cell = one.cell;
    this.names.replaceChildren(...plates.map((each) => {
      const made = tag("button", { type: "button", class: "nl-button", "aria-pressed": String(each.cell === one.cell) }, each.label);
      made.addEventListener("click", () => this.put(plates, each));
      return made;
    }));
    this.sheet.replaceChildren(one.figure.cloneNode(true), ...(one.words ? [one.words.cloneNode(true)] : []));
    this.grow(1);
  }

  grow(by) {
    this.size = Math.min(3, Math.max(1, this.size * by));
    this.sheet.style.setProperty("--nl-size", String(this.size));
  }

  // Beside where there is width, over the question where there is not.
  lay() {
    const { panel } = this.view, head = panel.content.node.offsetTop;
    panel.node.style.setProperty("--nl-top", `${head - (parseFloat(getComputedStyle(panel.content.node).marginTop) || 0)}px`);
    panel.node.classList.toggle("nl-over", panel.node.offsetWidth < NARROW_PX);
  }
}
