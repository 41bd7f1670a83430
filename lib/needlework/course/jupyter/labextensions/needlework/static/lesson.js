// A lesson as its learner works it: the question, a field, the verdict. The notebook beneath stays as it is.

const MIME = "application/vnd.needlework+json";
const AGAIN = { tags: ["raises-exception"], needlework: { surface: true, again: true } };
const NOW = { tags: ["raises-exception"], needlework: { surface: true, again: false } };
const FAR = "__import__('needlework.course.lesson.surface', fromlist=['']).";
const WORDS = { PASS: "Right", CLOSE: "Close", SLIP: "Not yet", WRONG: "Not yet", ERROR: "Cannot be read yet" };
const SAVE_MS = 400, TEXT_MS = 1500, KERNEL_MS = 60000, AGAIN_MS = 2000, STARTS = 3, TWICE = 2;
// So many deaths in so short a time are no accident.
const DEATHS = 6, DEATHS_MS = 120000;
// What is higher than one line of buttons, and in how many ways it can be made shorter.
const LINE_PX = 60, TIGHTEST = 3;
// How long a place is held while pictures come, the edge left free at it, and what is no more than an empty cell.
const HELD_MS = 3000, EDGE_PX = 8, SEEN_PX = 8;
// Under which the browser keeps a name that is being typed; no question has a key like it.
const NAME = "name being typed";
const ONWARD = "Enter leads on.";
// What takes keys of its own.
const OWN_KEYS = "input, textarea, select, button, a, summary, .cm-editor, .nl-stop, .nw-board, .nw-whatif, [data-lm-suppress-shortcuts]";

// Which lesson a notebook is, from its metadata or, for copies made before there was any, from its first code cell.
export function lessonOf(panel) {
  const said = panel.content.model?.getMetadata?.("needlework");
  if (typeof said?.lesson === "string") return said.lesson;
  for (const cell of panel.content.widgets) {
    const found = cell.model.type === "code" && /^begin\("([\w-]+)", student\)/m.exec(cell.model.sharedModel.getSource());
    if (found) return found[1];
  }
  return "";
}

const sourceOf = (cell) => cell.model.sharedModel.getSource();
const isCode = (cell) => cell.model.type === "code";
const asks = (cell) => isCode(cell) && /^(?:begin|ask|fly)\("[\w-]+"/m.test(sourceOf(cell));
const tagsOf = (cell) => cell.model.getMetadata("tags") ?? [];
const keyText = (text) => JSON.stringify(text);

function bundlesOf(cell) {
  const found = [], { outputs } = cell.model;
  for (let n = 0; n < outputs.length; n++) {
    const data = outputs.get(n).data?.[MIME];
    if (data && typeof data === "object") found.push(data);
  }
  return found;
}

// What moved in another session stands still until it is run again: its still picture is there, and the live one would
// only say that it was not found.
export function withoutLive(panel) {
  for (const cell of panel.content.model?.cells ?? []) {
    if (cell.type !== "code") continue;
    const all = cell.outputs.toJSON(), kept = all.filter((output) => !output.data?.["application/vnd.jupyter.widget-view+json"]);
    if (kept.length < all.length) { cell.outputs.fromJSON(kept); still.add(cell); }
  }
}
const still = new WeakSet();

export class LessonView {
  constructor(app, lab, { reading, fields, unsaved, beside }, panel, key) {
    Object.assign(this, { app, lab, reading, fields, panel, key });
    this.items = new Map();
    this.flights = new Map();
    this.rows = new Map();
    this.sitting = 0;
    this.readying = true;
    this.stops = 0;
    this.context = panel.context;
    this.session = panel.context.sessionContext;
    this.unsaved = new unsaved.Unsaved(lab.placeOf(panel.context.path), lab.now);
    this.unsaved.opened(panel.context.contentsModel?.last_modified);
    this.kept = this.unsaved.all();
    this.inTurn();
    this.tag = fields.tag;
    panel.addClass("nl-lesson");
    panel.toolbar.hide();
    this.head();
    this.beside = new beside.Beside(this);
    lab.quiet(false);
    this.cut();
    for (const cell of panel.content.widgets) this.watch(cell);
    panel.content.model.cells.changed.connect(() => this.changed());
    panel.content.node.addEventListener("click", (event) => this.link(event), true);
    // JupyterLab's menu there cuts and merges cells; with the code shown it is wanted.
    panel.node.addEventListener("contextmenu", (event) => {
      if (!this.workshop()) event.stopPropagation();
    });
    // Nor does a word that is clicked twice open the text it stands in, nor a letter typed beside a field cut anything.
    panel.content.node.addEventListener("dblclick", (event) => {
      if (!this.workshop() && !event.target.closest(".cm-editor")) event.stopPropagation();
    }, true);
    // A slider reached by Tab, with the picture it moves.
    panel.content.node.addEventListener("focusin", ({ target }) => {
      this.beside.follow(target.closest(".jp-Cell"));
      const shown = target.matches(":focus-visible") && target.closest(".nw-whatif");
      if (shown && shown.offsetHeight < this.room().height) this.inSight(shown);
    });
    const pressed = (event) => this.pressed(event);
    window.addEventListener("keydown", pressed, true);
    panel.disposed.connect(() => window.removeEventListener("keydown", pressed, true));
    // Without this JupyterLab puts its own message over everything when a kernel dies; the lesson says so itself.
    panel._autorestarting = true;
    this.session.statusChanged.connect((_, status) => this.status(status));
    // A tablet puts a page away without a word: what waits for its save is saved at once.
    const away = () => { if (document.visibilityState === "hidden" && this.timer) this.saveNow(); };
    document.addEventListener("visibilitychange", away);
    panel.disposed.connect(() => document.removeEventListener("visibilitychange", away));
    this.start();
  }

  // ---------------------------------------------------------------- the head: where one is, and the ways from here
  head() {
    const { tag } = this, { Widget } = this.lab.widgets, head = new Widget();
    head.addClass("nl-head");
    head.node.setAttribute("role", "region");
    head.node.setAttribute("aria-label", "This lesson");
    this.state = tag("span", { class: "nl-state" });
    this.live = tag("div", { class: "nl-hidden", role: "status", "aria-live": "polite" });
    this.sittings = tag("nav", { class: "nl-sittings", "aria-label": "Sittings" });
    this.list = tag("nav", { class: "nl-list", "aria-label": "Contents", hidden: true, "data-lm-suppress-shortcuts": "true" });
    this.title = tag("span", { class: "nl-title" });
    const button = (words, tip, press) => {
      const made = tag("button", { type: "button", class: "nl-button", title: tip }, words);
      made.addEventListener("click", () => press(made));
      return made;
    };
    const course = button("All lessons", "The page on which the course begins", () => this.leave());
    const code = button("Show code", "Show or hide what stands behind the fields", (made) => {
      const shown = this.panel.node.classList.toggle("nl-code");
      made.textContent = shown ? "Hide code" : "Show code";
      this.panel.toolbar.setHidden(!shown);
    });
    const print = button("Print", "The lesson as a worksheet on paper: no code, room for the answers", () => window.print());
    const workshop = button("", "Show or hide JupyterLab's menus, files and side bars", () => {
      this.stay(() => this.lab.quiet(!this.lab.loud()));
    });
    workshop.append(tag("span", { class: "nl-to-loud" }, "Menus"), tag("span", { class: "nl-to-quiet" }, "Hide menus"));
    const dark = button("", "Light letters on a dark page, or the other way round", async () => {
      this.live.textContent = (await this.lab.turnDark()) ? "The page is dark." : "The page is light.";
    });
    // It says what it leads to; the page's own colours tell which of the two that is.
    dark.append(tag("span", { class: "nl-to-dark" }, "Dark"), tag("span", { class: "nl-to-light" }, "Light"));
    const contents = button("Contents", "The sections of this lesson, and how far you are", () => this.unfold(this.list.hidden));
    this.where = tag("span", { class: "nl-where" });
    contents.append(this.where);
    contents.setAttribute("aria-expanded", "false");
    this.contents = contents;
    const teach = button("Classroom", "This lesson before a class, from here: full screen, one thing at a time", () => {
      this.lab.teach(this.key, this.panel, this.seenSection());
    });
    this.lab.server("needlework/overview").then((seen) => { teach.hidden = !seen?.taught?.includes(this.key); });
    teach.hidden = true;
    const bar = tag("div", { class: "nl-bar-head" });
    head.node.append(bar, this.live);
    this.plates = tag("span", { class: "nl-plates" });
    const rare = tag("span", { class: "nl-rare", id: `nl-rare-${this.key}` }, teach, print, code, dark, workshop);
    const more = button("More", "Classroom, print, code, dark page and menus", () => {
      more.setAttribute("aria-expanded", String(rare.classList.toggle("nl-open")));
    });
    more.classList.add("nl-more");
    more.setAttribute("aria-expanded", "false");
    more.setAttribute("aria-controls", rare.id);
    // What was chosen there is done, and its line is put away; by a mouse or finger Enter goes on leading on from where it was.
    rare.addEventListener("mousedown", (event) => event.preventDefault());
    rare.addEventListener("click", (event) => {
      if (!event.target.closest("button") || !rare.classList.contains("nl-open")) return;
      const held = rare.contains(document.activeElement);
      more.click();
      if (held) more.focus();
    });
    bar.addEventListener("keydown", (event) => {
      if (event.key !== "Escape" || !rare.classList.contains("nl-open")) return;
      more.click();
      more.focus();
    });
    bar.append(course, this.title, this.sittings, contents, this.plates, this.state, tag("span", { class: "nl-grow" }), more, rare);
    this.banner = tag("div", { class: "nl-banner", hidden: true });
    const line = new Widget();
    line.addClass("nl-line");
    line.node.append(this.banner);
    const { contentHeader } = this.panel;
    contentHeader.addWidget(head);
    contentHeader.addWidget(line);
    // The room above a notebook is as high as it is said to be: it grows with what stands there.
    const measure = () => {
      // One line, if it can be: first the rare buttons go behind one, then the title, then the numbers of the sittings.
      const open = rare.classList.contains("nl-open");
      rare.classList.remove("nl-open");
      for (bar.dataset.tight = 0; bar.offsetHeight > LINE_PX && bar.dataset.tight < TIGHTEST; ) bar.dataset.tight++;
      rare.classList.toggle("nl-open", open);
      head.node.style.minHeight = `${bar.offsetHeight}px`;
      line.node.style.minHeight = `${this.banner.offsetHeight}px`;
      line.setHidden(this.banner.hidden);
      contentHeader.fit();
      contentHeader.parent?.fit();
    };
    this.measure = measure;
    this.measured = new ResizeObserver(measure);
    this.measured.observe(bar);
    this.measured.observe(this.banner);
    this.way = tag("div", { class: "nl-onward", hidden: true, "aria-hidden": "true" }, ONWARD);
    this.panel.node.append(this.list, this.way);
    const elsewhere = ({ target }) => { if (!this.list.contains(target) && !contents.contains(target)) this.unfold(false); };
    document.addEventListener("click", elsewhere);
    this.panel.disposed.connect(() => document.removeEventListener("click", elsewhere));
    this.list.addEventListener("keydown", (event) => {
      if (event.key === "Escape") { this.unfold(false); contents.focus(); }
    });
  }

  unfold(yes) {
    this.list.hidden = !yes;
    this.contents.setAttribute("aria-expanded", String(yes));
    if (yes) {
      const at = this.contents.getBoundingClientRect(), room = this.panel.node.getBoundingClientRect();
      this.list.style.left = `${Math.max(8, Math.min(at.left - room.left, room.width - this.list.offsetWidth - 8))}px`;
      this.list.style.top = `${at.bottom - room.top + 4}px`;
      this.list.querySelector("button")?.focus();
    }
  }

  // True where somebody works on the notebook itself.
  workshop() { return this.lab.loud() || this.panel.node.classList.contains("nl-code"); }

  // Keys that no field takes: the notebook beneath has one for cutting, merging, opening a cell.
  pressed(event) {
    const { target } = event, here = this.panel.content.node;
    if (!here.contains(target) && !(target === document.body && this.panel.isVisible)) return;
    if (event.key === "s" && (event.ctrlKey || event.metaKey) && !event.shiftKey && !event.altKey) {
      event.preventDefault();
      event.stopPropagation();
      this.saveNow().then(() => { this.live.textContent = "Saved."; });
      return;
    }
    if (this.workshop() || target.closest?.(OWN_KEYS)) return;
    // The notebook's own undo would put an earlier answer into a field, under the verdict on a later one.
    if ((event.ctrlKey || event.metaKey) && ["z", "y"].includes(event.key.toLowerCase())) {
      event.preventDefault();
      event.stopPropagation();
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const cell = this.here().find((each) => each.node.contains(target));
    if (event.key === "Enter") {
      event.preventDefault();
      event.stopPropagation();
      // From nowhere in particular it leads to what is in sight, not back to the beginning.
      const cells = this.here(), from = cell ?? this.beside.spot();
      this.next(cells[cells.indexOf(from) - 1] ?? null);
    } else if (event.key.length === 1 || ["Delete", "Backspace", "Escape"].includes(event.key)) event.stopPropagation();
  }

  leave() { this.lab.open("start.ipynb", this.context.path); }

  say(words) { this.state.textContent = words; }

  // Words, and what may be done about it: a name and what it does, as often as wanted.
  tell(words, ...ways) {
    this.banner.replaceChildren(words);
    this.banner.hidden = !words;
    this.measure?.();
    for (let n = 0; n < ways.length; n += 2) {
      const made = this.tag("button", { type: "button", class: "nl-button" }, ways[n]);
      made.addEventListener("click", () => ways[n + 1]());
      this.banner.append(" ", made);
    }
  }

  // ---------------------------------------------------------------- sittings
  cut() {
    const cells = this.panel.content.widgets;
    this.place = new Map();
    this.sections = [];
    let sitting = 0, section = null;
    for (const cell of cells) {
      this.place.set(cell, sitting);
      if (tagsOf(cell).includes("how")) cell.addClass("nl-how-cell");
      if (cell.model.type === "markdown") {
        const heading = /^(#{1,2}) (.+)$/m.exec(sourceOf(cell));
        if (heading?.[1] === "#") this.title.textContent = heading[2];
        else if (heading) this.sections.push((section = { name: heading[2], cell, sitting, keys: [] }));
      } else if (isCode(cell)) {
        const check = /^check\("([\w-]+)"/m.exec(sourceOf(cell));
        if (check && section) section.keys.push(check[1]);
      }
      // What ends a sitting says what the next one is: it stands at the foot, with the way on.
      if (tagsOf(cell).includes("sitting")) { this.on(cell, sitting + 1); sitting++; }
    }
    this.count = sitting + 1;
    this.draw();
    this.turn(this.sitting);
  }

  async on(cell, next) {
    if (cell.__nlOn) return;
    cell.__nlOn = true;
    await cell.ready;
    const { Widget } = this.lab.widgets, box = new Widget();
    const made = this.tag("button", { type: "button", class: "nl-button nl-main" }, `Go on with sitting ${next + 1}`);
    made.addEventListener("click", () => { this.turn(next); this.top(); this.next(null); });
    box.addClass("nl-foot");
    box.node.append(made);
    cell.layout.addWidget(box);
  }

  turn(sitting) {
    this.sitting = sitting;
    for (const cell of this.panel.content.widgets) cell.toggleClass("nl-away", this.place.get(cell) !== sitting);
    for (const made of this.sittings.children) made.setAttribute("aria-current", String(Number(made.dataset.sitting) === sitting));
    this.where.textContent = this.count > 1 ? `: sitting ${sitting + 1} of ${this.count}` : "";
    this.beside?.look();
  }

  itemOf(key) { return [...this.items.values()].find((each) => each.question.key === key); }

  // What is scrolled, and the room on the screen in which a lesson is seen.
  outer() { return this.panel.content.node.querySelector(".jp-WindowedPanel-outer") ?? this.panel.content.node; }

  room() { return this.panel.content.node.getBoundingClientRect(); }

  top() { this.held?.(); this.outer().scrollTop = 0; }

  // Pictures come late and move what stands below them: a place is held until the page rests or a hand is put to it.
  hold(place, ms = HELD_MS) {
    this.held?.();
    const outer = this.outer(), hands = ["wheel", "touchstart", "pointerdown", "keydown"], { node } = this.panel;
    const watch = new ResizeObserver(place);
    const release = () => {
      watch.disconnect();
      clearTimeout(late);
      for (const each of hands) node.removeEventListener(each, release, true);
      if (this.held === release) this.held = null;
    };
    const late = setTimeout(release, ms);
    this.held = release;
    for (const each of hands) node.addEventListener(each, release, { capture: true, passive: true });
    watch.observe(outer.querySelector(".jp-WindowedPanel-viewport") ?? outer.firstElementChild ?? outer);
    watch.observe(outer);
    place();
  }

  // What changes the room about the lesson leaves what is read at its height.
  stay(change) {
    const spot = this.beside.spot(), at = () => spot.node.getBoundingClientRect().top - this.room().top, from = spot ? at() : 0;
    change();
    if (spot) this.hold(() => { if (spot.node.offsetHeight) this.outer().scrollTop += at() - from; });
  }

  // What has newly come below a field is brought into sight: whole where there is room, else from its beginning.
  inSight(node) {
    this.hold(() => {
      const box = node.getBoundingClientRect(), room = this.room();
      if (!box.height) return;
      if (box.bottom > room.bottom - EDGE_PX) this.outer().scrollTop += Math.min(box.bottom - room.bottom, box.top - room.top) + EDGE_PX;
      else if (box.top < room.top) this.outer().scrollTop += box.top - room.top - EDGE_PX;
    });
  }

  // Name of the section at the top of the page; empty at the very beginning.
  seenSection() {
    const top = this.room().top + 80;
    const above = this.sections.filter((section) => section.sitting === this.sitting && section.cell.node.getBoundingClientRect().top <= top);
    const last = above.at(-1);
    return last && this.sections.indexOf(last) ? this.bare(last) : "";
  }

  // A section's name without its number and marks; empty where there is none.
  bare(section) { return section ? section.name.replace(/[*`]/g, "").replace(/^\d+ /, "") : ""; }

  show(cell) {
    this.turn(this.place.get(cell) ?? 0);
    this.hold(() => { this.outer().scrollTop += cell.node.getBoundingClientRect().top - this.room().top; });
  }

  // How far each section and sitting is; the list of contents says it in words as well.
  draw() {
    const { tag } = this, done = (keys) => keys.filter((key) => this.settled(key)).length;
    this.sittings.replaceChildren();
    this.list.replaceChildren();
    for (let n = 0; n < this.count; n++) {
      const sections = this.sections.filter((section) => section.sitting === n);
      const keys = sections.flatMap((section) => section.keys), whole = keys.length > 0 && done(keys) === keys.length;
      const said = `Sitting ${n + 1} of ${this.count}: ${done(keys)} of ${keys.length} questions done`;
      const made = tag("button", { type: "button", class: "nl-button", "data-sitting": n, title: said, "aria-label": said }, `${n + 1}${whole ? " ✓" : ""}`);
      made.addEventListener("click", () => { this.turn(n); this.top(); });
      if (this.count > 1) this.sittings.append(made);
      const rows = tag("ul", {});
      for (const section of sections) {
        const link = tag("button", { type: "button", class: "nl-link" }, section.name.replace(/[*`]/g, ""));
        link.addEventListener("click", () => { this.unfold(false); this.show(section.cell); });
        const count = section.keys.length ? tag("span", { class: "nl-count" }, `${done(section.keys)} of ${section.keys.length}`) : "";
        rows.append(tag("li", {}, link, count));
      }
      this.list.append(tag("p", { class: "nl-part" }, this.count > 1 ? `Sitting ${n + 1}` : "Sections"), rows);
    }
    this.turn(this.sitting);
    this.keepBack();
  }

  // A what-if does not give away what a question has asked: the way ahead and the sentence wait for an answer.
  keepBack() {
    for (const cell of this.panel.content.widgets) {
      const asked = cell.model.getMetadata("needlework")?.for;
      if (!asked) continue;
      const row = this.rows.get(asked);
      cell.toggleClass("nl-kept-back", Boolean(row) && row.outcome === "NOT_ATTEMPTED");
    }
  }

  settled(key) {
    const row = this.rows.get(key);
    return Boolean(row) && (row.outcome === "PASS" || row.noted);
  }

  // Where the learner goes on: at the first question that is not right yet; null in a lesson that was not begun.
  resumesAt() {
    const keys = this.sections.flatMap((section) => section.keys);
    const answered = (key) => this.settled(key) || (this.rows.get(key) ?? { outcome: "NOT_ATTEMPTED" }).outcome !== "NOT_ATTEMPTED";
    return keys.some(answered) ? keys.find((key) => !this.settled(key)) ?? "" : null;
  }

  // What was asked for, or where the learner stopped: at the answer the file had not got yet, if there is one.
  aim() {
    const asked = this.lab.wanted.get(this.context.path), open = this.resumesAt();
    if (asked && asked !== open) return asked;
    const kept = Object.entries(this.kept).filter(([key]) => this.itemOf(key)).sort(([, a], [, b]) => b.when - a.when);
    return kept[0]?.[0] ?? asked ?? open;
  }

  arrive() {
    const to = this.aim();
    this.lab.wanted.delete(this.context.path);
    // Somebody has begun to work meanwhile.
    if (this.early && this.held !== this.early) return;
    if (to) this.goTo(to); else if (to === null) this.begin();
  }

  // The same as soon as the page is laid out, where the file says enough: nothing moves any more while the rest comes.
  async arriveEarly() {
    const item = this.itemOf(this.aim());
    if (!item) return;
    await item.ready;
    this.goTo(item.question.key, KERNEL_MS);
    this.early = this.held;
  }

  // A lesson not yet begun is read from its top.
  begin() {
    const here = this.here(), to = this.wantsName() ? this.named : here.map((cell) => this.items.get(cell)).find((each) => each?.box);
    if (!to || document.activeElement?.closest?.("input, textarea, .nl-stop")) return;
    const stops = here.slice(0, here.indexOf(to.cell)).filter((cell) => cell.node.offsetHeight > SEEN_PX);
    if (stops.length) this.stop(stops[0], stops, to);
  }

  goTo(key, ms = HELD_MS) {
    if (/^#\d+$/.test(key)) { this.turn(Number(key.slice(1)) - 1); this.top(); return; }
    const item = this.itemOf(key);
    if (!item) { this.lab.wanted.set(this.context.path, key); return; }
    this.turn(this.place.get(item.cell) ?? 0);
    const here = this.here(), before = here.slice(0, here.indexOf(item.cell)).findLast((cell) => this.items.get(cell)?.box);
    // The question with as much as fits of the text that leads to it.
    this.hold(() => {
      const texts = this.between(before, item.cell);
      const room = this.room(), card = this.cardOf(item), start = card.bottom - room.height + EDGE_PX;
      const whole = [...texts.map((cell) => cell.node.getBoundingClientRect().top), card.top].find((top) => top >= start);
      const top = whole === undefined || (whole === card.top && texts.length) ? Math.min(start, card.top) : whole;
      this.outer().scrollTop += top - room.top;
    }, ms);
    requestAnimationFrame(() => this.focus(item.controls[0] ?? { first: item.check }, true));
  }

  // From the top of a question to the end of its verdict's place.
  cardOf(item) {
    const { top, bottom } = item.cell.node.getBoundingClientRect(), verdict = this.cellAfter(item);
    return { top, bottom: Math.max(bottom, verdict?.hasClass("nl-blank") === false ? verdict.node.getBoundingClientRect().bottom : bottom) };
  }

  link(event) {
    const to = event.target.closest?.("a[href*='#']");
    if (!to) return;
    const place = /([\w-]+)\/\1\.ipynb[^#]*#cell-id=([\w-]+)-answer$/.exec(to.getAttribute("href"));
    if (place) {
      event.preventDefault();
      event.stopPropagation();
      this.lab.openAt(`${place[1]}/${place[1]}.ipynb`, place[2], this.context.path);
      return;
    }
    const hash = decodeURIComponent(to.getAttribute("href").split("#")[1] ?? "");
    const plain = (text) => text.replace(/[*`]/g, "").replace(/ /g, "-");
    const meant = this.sections.find((section) => plain(section.name) === hash);
    if (!meant || /\.ipynb#/.test(to.getAttribute("href"))) return;
    event.preventDefault();
    event.stopPropagation();
    this.show(meant.cell);
  }

  // ---------------------------------------------------------------- what the cells show
  changed() {
    for (const cell of this.panel.content.widgets) if (!this.place.has(cell)) this.watch(cell);
    this.cut();
  }

  watch(cell) {
    if (!isCode(cell) || cell.__nlWatched) return;
    cell.__nlWatched = true;
    const look = () => this.look(cell);
    cell.model.outputs.changed.connect(look);
    cell.model.sharedModel.changed.connect(() => this.follow(cell));
    look();
  }

  look(cell) {
    for (const said of bundlesOf(cell)) {
      if (said.question) this.asked(cell, said.question);
      if (said.flight) this.flights.set(cell, said.flight.procedure);
      if (said.lesson) this.begun(cell, said.lesson);
      if (said.standing) this.stands(said.standing);
    }
    const check = /^check\("([\w-]+)"/m.exec(sourceOf(cell));
    if (check) this.checked(cell, check[1]);
    const reveal = /^reveal\("([\w-]+)"\)/m.exec(sourceOf(cell));
    if (reveal) this.revealed(cell, reveal[1]);
  }

  async begun(cell, lesson) {
    this.total = lesson.questions;
    this.passed = Math.max(this.passed ?? 0, lesson.passed);
    this.warned = lesson.warning;
    this.far();
    if (cell.__nlName) return;
    cell.__nlName = true;
    cell.addClass("nl-begun");
    await cell.ready;
    const answer = this.reading.answerIn(sourceOf(cell), "student"), homework = /^begin\(.*\bhomework=/m.test(sourceOf(cell));
    if (!answer) return;
    const control = this.fields.nameControl(this.reading, homework
      ? "Your name or number, exactly as your instructor's list has it: your numbers are drawn from it"
      : "Your name or number, as your instructor knows it; empty if you work alone");
    let last = this.reading.shownOf(answer.values[0].text), kept = null;
    control.set(answer.values[0].text);
    const put = () => {
      const name = control.draft().trim();
      if (name === last) return this.drawing;
      let literal = "";
      // Why it cannot be taken, the field says itself.
      try { literal = control.get(); } catch { return this.drawing; }
      last = name;
      if (homework) this.lab.remember(this.context.path, name);
      this.remembered = false;
      kept?.remove();
      this.write(cell, "student", [literal]);
      this.unsaved.put(NAME, [name], true);
      return this.drawAnew();
    };
    // While it is typed it is nowhere but in its field.
    control.touched = () => {
      if (control.draft().trim() === last) this.unsaved.forget(NAME);
      else this.unsaved.put(NAME, [control.draft()], false);
    };
    control.changed = put;
    control.entered = async () => {
      this.remembered = false;
      await put();
      if (document.activeElement === control.first) this.next(cell);
    };
    this.named = { cell, controls: [control] };
    this.farLine = this.tag("p", { class: "nl-far" });
    this.box(cell, "nl-field", control.node, this.farLine);
    const [begun] = this.unsaved.all()[NAME]?.given ?? [];
    if (typeof begun === "string" && begun.trim() !== last) {
      control.redraft(begun);
      kept = this.tag("p", { class: "nl-known" }, "The name you had begun to type is here again. Enter takes it.");
      this.farLine.before(kept);
    }
    this.far();
    if (this.filledIn) this.farLine.before(this.tag("p", { class: "nl-known" }, this.filledIn));
  }

  // Other numbers for every question: it takes a moment, in which there is nothing to go on to.
  drawAnew() {
    const words = "Getting ready: your numbers are being drawn.";
    this.tell(words);
    this.live.textContent = words;
    const drawing = this.run().finally(() => {
      if (this.drawing !== drawing) return;
      this.drawing = null;
      if (this.banner.textContent === words) this.tell("");
    });
    return (this.drawing = drawing);
  }

  // Homework without a name, where a hub knows one or another lesson of the folder was given one: it is filled in before
  // anything is drawn from it, and says so.
  async fillIn() {
    for (const cell of this.panel.content.widgets) {
      if (!isCode(cell) || !/^begin\(.*\bhomework=/m.test(sourceOf(cell))) continue;
      const empty = () => { const answer = this.reading.answerIn(sourceOf(cell), "student"); return answer && !this.reading.shownOf(answer.values[0].text); };
      if (!empty()) continue;
      const { name: known } = (await this.lab.server("needlework/known")) ?? {}, name = known || this.lab.remembered(this.context.path);
      if (!name || !empty()) return;
      this.write(cell, "student", [this.reading.quoted(name)]);
      this.remembered = !known;
      this.filledIn = known
        ? `You are logged in as ${name}, so this name is filled in. Type another if your instructor knows you by it.`
        : `“${name}” was given in another lesson here, so this name is filled in. Somebody else? Type your own.`;
    }
  }

  // How far the learner is, true at every moment; what the lesson warns of stands beside it.
  far() {
    if (!this.farLine || !this.total) return;
    this.farLine.textContent = [`Right so far: ${this.passed} of ${this.total} questions.`, this.warned].filter(Boolean).join(" ");
  }

  stands(standing) {
    for (const row of standing.rows) this.rows.set(row.key, row);
    this.passed = standing.rows.filter((row) => row.outcome === "PASS").length;
    this.far();
    this.draw();
  }

  checked(cell, key) {
    let blank = true, verdict = null, answer = null;
    for (const said of bundlesOf(cell)) {
      if (said.verdict?.key === key) verdict = said.verdict;
      if (said.answer?.key === key) answer = said.answer;
    }
    if (verdict || answer) blank = (verdict?.outcome ?? "") === "NOT_ATTEMPTED" || Boolean(answer?.blank);
    const item = this.itemOf(key), told = verdict && JSON.stringify(verdict);
    if (item && told && item.told !== told) {
      item.told = told;
      item.ready.then(() => { item.faulty = item.controls.map((control, n) => (verdict.cells[n]?.outcome === "PASS" ? null : control.draft())); });
    }
    cell.addClass("nl-verdict");
    cell.toggleClass("nl-blank", blank);
  }

  async revealed(cell, lesson) {
    // Homework is judged by the instructor: its cell says so itself.
    const homework = [...this.panel.content.widgets].some((each) => isCode(each) && /^begin\(.*\bhomework\b/m.test(sourceOf(each)));
    if (cell.__nlReveal || homework) return;
    cell.__nlReveal = true;
    await cell.ready;
    const made = this.tag("button", { type: "button", class: "nl-button nl-main" }, "Judge my task");
    made.addEventListener("click", async () => {
      made.disabled = true;
      const code = `${FAR}judge_tasks(${keyText(lesson)})`;
      await this.lab.outputarea.OutputArea.execute(code, cell.outputArea, this.session, NOW).catch(() => {});
      made.disabled = false;
      this.inSight(cell.outputArea.node);
      await this.recap();
      this.save();
      await this.moveOn();
    });
    this.box(cell, "nl-field", made);
  }

  // A task that was right proves its lesson: the way on is at hand.
  async moveOn() {
    this.lab.answered();
    const seen = await this.lab.server("needlework/overview"), mine = seen?.lessons.find((each) => each.key === this.key);
    if (!mine || !["known", "done"].includes(mine.state)) return;
    const words = mine.state === "known" ? "This lesson counts as known; its questions come back on other days." : "This lesson is done; its questions come back on other days.";
    if (seen.next) this.tell(words, `Go on with ${seen.next.title}`, () => this.lab.openAt(seen.next.path, seen.next.begun ? seen.next.key : "", this.context.path));
    else this.tell(words, "All lessons", () => this.leave());
  }

  box(cell, name, ...inside) {
    const { Widget } = this.lab.widgets, box = new Widget();
    box.addClass(name);
    box.node.setAttribute("data-lm-suppress-shortcuts", "true");
    box.node.append(...inside);
    cell.layout.addWidget(box);
    return box;
  }

  // ---------------------------------------------------------------- a question and its field
  async asked(cell, question) {
    const text = JSON.stringify(question), old = this.items.get(cell);
    if (old?.text === text) return;
    const item = { cell, question, text, controls: [], dirty: false, verdict: false };
    item.ready = new Promise((resolve) => { item.made = resolve; });
    this.items.set(cell, item);
    cell.addClass("nl-ask");
    await cell.ready;
    if (this.items.get(cell) !== item) { item.made(); return; }
    old?.box?.dispose();
    const { tag } = this, id = `nl-title-${this.key === "review" ? "again-" : ""}${question.key}`;
    const title = tag("span", { class: "nl-hidden", id }, question.title);
    const check = tag("button", { type: "button", class: "nl-button nl-main" }, question.task ? "Note my answers" : "Check");
    check.addEventListener("click", () => this.judge(item));
    const hint = question.hints ? tag("button", { type: "button", class: "nl-button" }, "Hint") : "";
    const hints = tag("div", { class: "nl-hints" });
    if (hint) hint.addEventListener("click", () => this.hint(item, hint, hints));
    const line = tag("div", { class: "nl-said nl-wrong" });
    item.line = line;
    const ways = tag("div", { class: "nl-ways" });
    // A field that is left says below it what was read, and moves the button away from under the mouse.
    ways.addEventListener("mousedown", (event) => event.preventDefault());
    let body = "";
    if (question.kind === "flight") {
      check.textContent = "Judge my newest flight";
      const again = tag("button", { type: "button", class: "nl-button" }, "Fly again");
      again.addEventListener("click", () => this.execute(cell, NOW));
      ways.append(check, again, hint);
    } else {
      const answer = this.reading.answerIn(sourceOf(cell));
      this.own(item, !this.fits(question, answer));
      item.controls = this.fields.controlsFor(this.reading, question, answer?.values ?? [], id, answer?.note ?? "");
      item.controls.forEach((control, place) => {
        control.touched = () => { item.dirty = true; item.owed = undefined; this.stale(item); this.note(item, false); if (question.kind === "text") this.soon(item); };
        control.changed = () => this.keep(item);
        control.entered = (back) => this.enter(item, place, back);
      });
      this.fill(item);
      body = tag("div", { class: item.controls.length > 1 ? "nl-table" : "nl-one", role: "group", "aria-labelledby": id }, ...item.controls.map((c) => c.node));
      const run = tag("button", { type: "button", class: "nl-button nl-run" }, "Run this cell");
      run.addEventListener("click", async () => { await this.execute(cell, NOW); await this.verdict(item); });
      ways.append(check, run, hint);
    }
    item.box = this.box(cell, "nl-field", title, body, ways, line, hints);
    item.check = check;
    item.given = JSON.stringify(item.controls.map((control) => control.draft()));
    item.made();
  }

  // True where the cell holds an answer of the shape the question wants, and nothing of the learner's own.
  fits(question, answer) {
    if (!answer || answer.own) return false;
    const many = question.kind === "table" || question.kind === "plan";
    return answer.values.length === (many ? question.cells.length : 1);
  }

  own(item, yes) {
    item.own = yes;
    item.cell.toggleClass("nl-own", yes);
  }

  // From the cell to the field.
  fill(item) {
    const answer = this.reading.answerIn(sourceOf(item.cell));
    if (!this.fits(item.question, answer)) return;
    item.controls.forEach((control, place) => control.set(answer.values[this.at(item, answer, place)].text));
  }

  // The place of a value in the cell, by its label where it has one: a learner may have put the lines in another order.
  at(item, answer, place) {
    const label = item.question.cells[place]?.label;
    const named = item.question.listed ? -1 : answer.values.findIndex((value) => value.label === label);
    return named < 0 ? place : named;
  }

  follow(cell) {
    const item = this.items.get(cell);
    if (!item || this.writing || !item.controls.length) return;
    this.own(item, !this.fits(item.question, this.reading.answerIn(sourceOf(cell))));
    const drafts = () => JSON.stringify(item.controls.map((control) => control.draft())), before = drafts();
    this.fill(item);
    // The verdict is on what stood there.
    if (drafts() !== before) { item.dirty = true; this.stale(item); }
  }

  // From the field to the cell: only what changed is replaced, so that notes and layout stay. False where it cannot be read.
  keep(item, complain = false) {
    const answer = this.reading.answerIn(sourceOf(item.cell));
    if (!this.fits(item.question, answer)) return false;
    const literals = [];
    let wrong = null;
    for (const control of item.controls) {
      try { literals.push(control.get()); } catch { wrong ??= control; literals.push(null); }
    }
    const placed = [];
    literals.forEach((literal, place) => { placed[this.at(item, answer, place)] = literal; });
    this.note(item, !wrong);
    this.write(item.cell, answer.name, placed);
    if (wrong && complain) wrong.first.focus();
    return !wrong;
  }

  // The browser keeps what was given until the file has it.
  note(item, written) {
    const given = item.controls.map((control) => control.draft()), { key } = item.question;
    // What a field was filled with from the cell is no news.
    if (written && JSON.stringify(given) === item.given) return;
    item.given = written ? JSON.stringify(given) : "";
    // What was typed anew since it was pressed is owed no verdict.
    this.unsaved.put(key, given, written, written ? item.owed : undefined);
  }

  // A long text is written down while it is typed.
  soon(item) {
    clearTimeout(item.soon);
    item.soon = setTimeout(() => this.keep(item), TEXT_MS);
  }

  // What was given last time and did not get into the file: the page was closed too soon, or could not save.
  async putBack() {
    let back = 0;
    for (const [key, { given, asked, told, old }] of Object.entries(this.unsaved.all())) {
      const item = this.itemOf(key);
      if (!item) continue;
      await item.ready;
      if (item.own || given.length !== item.controls.length) continue;
      const same = item.controls.every((control, place) => control.draft() === given[place]);
      if (old && !same) { this.unsaved.forget(key); continue; }
      item.owed = asked;
      item.counted = told;
      if (same) { this.unsaved.put(key, given, true, asked); continue; }
      item.controls.forEach((control, place) => control.redraft(String(given[place])));
      item.dirty = true;
      this.stale(item);
      this.keep(item);
      back++;
    }
    if (!back) return;
    const words = back === 1 ? "One answer was not in the file yet when the lesson was closed: it is there again." : `${back} answers were not in the file yet when the lesson was closed: they are there again.`;
    this.tell(words);
    setTimeout(() => { if (this.banner.textContent === words) this.tell(""); }, 8000);
  }

  write(cell, name, literals) {
    const answer = this.reading.answerIn(sourceOf(cell), name);
    this.writing = true;
    let changed = false;
    for (let n = answer.values.length - 1; n >= 0; n--) {
      const value = answer.values[n], literal = literals[n];
      if (literal === null || literal === undefined || literal === value.text) continue;
      cell.model.sharedModel.updateSource(value.from, value.to, literal);
      changed = true;
    }
    this.writing = false;
    if (changed) this.save();
  }

  stale(item) {
    item.line.textContent = "";
    this.cellAfter(item)?.toggleClass("nl-stale", true);
  }

  // Enter goes on: to the next value, then to the verdict, then to the next question.
  enter(item, place, back) {
    const control = item.controls[place];
    if (this.drawing) return;
    try { control.get(); } catch { return; }
    // A line that is right, or changed since it was judged, is not gone through again.
    const open = (each, n) => !each.draft().trim() || item.faulty?.[n] === each.draft();
    const to = back ? item.controls[place - 1] : item.controls.find((each, n) => n > place && open(each, n));
    if (to) { this.keep(item); this.focus(to); return; }
    if (back) return this.next(item.cell, true);
    if (!item.dirty && item.judged) return this.next(item.cell);
    this.judge(item);
  }

  focus(control, still = false) {
    if (control.focus) control.focus(still); else control.first.focus({ preventScroll: still });
    control.first.select?.();
  }

  here() { return [...this.panel.content.widgets].filter((cell) => this.place.get(cell) === this.sitting); }

  // What is read between one question and another: texts, pictures, what-ifs that are seen.
  between(from, to) {
    const here = this.here(), end = to ? here.indexOf(to) : here.length;
    return here.slice(from ? here.indexOf(from) + 1 : 0, end)
      .filter((cell) => !cell.hasClass("nl-verdict") && !cell.hasClass("nl-begun") && cell.node.offsetHeight > SEEN_PX);
  }

  // Only a name that is missing, or may be another's, is asked for on the way: every number is drawn from it, and it is not changed by accident.
  wantsName() {
    const answered = [...this.rows.values()].some((row) => row.outcome !== "NOT_ATTEMPTED");
    return Boolean(this.named) && !answered && (this.remembered || !this.named.controls[0].draft().trim());
  }

  // To what comes next in reading: a text or picture first, then the question it leads to. Back leads from field to field.
  next(from, back = false) {
    const here = this.here();
    if (back) here.reverse();
    if (this.drawing) return;
    if (this.wantsName() && !back && here.includes(this.named.cell) && here.indexOf(from) < here.indexOf(this.named.cell)) { this.come(this.named); return; }
    const after = here.slice(here.indexOf(from) + 1), made = (cell) => Boolean(this.items.get(cell)?.box) || cell === this.named?.cell;
    // A question that is still being made is not gone past.
    const coming = this.readying && !back ? after.find((cell) => this.items.get(cell)?.box || (asks(cell) && !made(cell))) : null;
    if (coming && !made(coming)) {
      const texts = this.between(from, coming);
      if (texts.length) this.readAt(texts, coming); else this.live.textContent = "The next question is not ready yet.";
      return;
    }
    const to = after.map((cell) => this.items.get(cell)).find((each) => each?.box);
    if (back && !to) { this.live.textContent = "Nothing is asked before this in the sitting."; return; }
    const stops = back ? [] : this.between(from, to?.cell);
    if (to && !back && to.cell.node.offsetHeight > this.room().height) stops.push(to.cell);
    if (!stops.length) { this.come(to, back); return; }
    this.readAt(stops, to);
  }

  readAt(stops, to) {
    this.hold(() => { this.outer().scrollTop += stops[0].node.getBoundingClientRect().top - this.room().top - EDGE_PX; });
    this.stop(stops[0], stops, to);
  }

  come(to, back = false) {
    if (!to) {
      const foot = this.panel.content.node.querySelector(".jp-Cell:not(.nl-away) .nl-foot button");
      if (foot) { foot.focus(); return; }
      this.tell("This is the end of the lesson.", "All lessons", () => this.leave());
      this.banner.querySelector("button")?.focus();
      return;
    }
    if (to.controls.length) this.focus(back ? to.controls.at(-1) : to.controls[0]);
    // To the panel, not to a key of it: one Enter more would turn the aircraft.
    else (to.cell.node.querySelector(".nw-board") ?? to.check).focus();
    this.reach(to.cell);
  }

  // A place to read at: it has the focus, says where one is, and Enter leads on, a screen at a time.
  stop(cell, stops, to) {
    const node = cell.node.querySelector(".jp-MarkdownOutput, .jp-OutputArea") ?? cell.node;
    node.tabIndex = -1;
    node.classList.add("nl-stop");
    node.setAttribute("data-lm-suppress-shortcuts", "true");
    node.onkeydown = (event) => {
      if (event.target !== node || event.ctrlKey || event.metaKey || event.altKey) return;
      // The notebook beneath would take arrows for its own.
      event.stopPropagation();
      // An answer that is typed already goes into the field that it is meant for.
      if (to !== this.named && to?.controls?.[0]?.takes?.(event.key)) { this.come(to); to.controls[0].typed?.(event); return; }
      if (event.key !== "Enter") return;
      event.preventDefault();
      if (event.shiftKey) this.next(stops[0], true); else this.onward(stops, to);
    };
    node.onblur = () => { this.way.hidden = true; };
    node.focus({ preventScroll: true });
    this.way.hidden = false;
    const heading = node.querySelector("h1, h2, h3, figcaption")?.textContent ?? node.textContent.trim().slice(0, 80);
    this.live.textContent = `${heading.replace(/¶/g, "").trim()}. ${ONWARD}`;
  }

  onward(stops, to) {
    if (this.drawing) return;
    const room = this.room(), end = stops.at(-1).node.getBoundingClientRect().bottom;
    if (end <= room.bottom + EDGE_PX) { if (to?.node) this.next(stops.at(-1)); else this.come(to); return; }
    this.held?.();
    this.outer().scrollTop += Math.min(room.height * 0.85, end - room.bottom + EDGE_PX);
    const seen = stops.find((cell) => cell.node.getBoundingClientRect().bottom > this.room().top + room.height * 0.25);
    this.stop(seen ?? stops.at(-1), stops, to);
  }

  // A question that comes into focus is seen whole, where the room allows.
  reach(cell) {
    const box = cell.node.getBoundingClientRect(), room = this.room();
    if (box.height < room.height && (box.top < room.top || box.bottom > room.bottom)) cell.node.scrollIntoView({ block: "nearest" });
  }

  cellAfter(item) {
    const cells = [...this.panel.content.widgets], at = cells.indexOf(item.cell);
    const called = new RegExp(`^check\\("${item.question.key}"`, "m");
    return cells.slice(at + 1, at + 3).find((cell) => isCode(cell) && called.test(sourceOf(cell)));
  }

  async judge(item, owed = false) {
    const { question } = item;
    item.line.textContent = "";
    if (question.kind === "flight") {
      const name = this.flightName(item);
      if (!name) { item.line.textContent = "This cell was changed: show the code, or begin the lesson again."; return; }
      await this.quietly(`${name} = __import__("needlework.lesson").lesson.flight_of(${keyText(question.key)})`);
      return this.verdict(item);
    }
    if (item.own) { await this.execute(item.cell, NOW); return this.verdict(item); }
    if (question.kind === "order") item.controls[0].take();
    if (!this.keep(item, true)) return undefined;
    const answer = this.reading.answerIn(sourceOf(item.cell));
    if (answer.values.every((value) => value.text === "None")) {
      const missing = { choice: "Nothing is chosen yet: choose one.", text: "Nothing is written yet." };
      item.line.textContent = missing[question.kind] ?? "Nothing is filled in yet.";
      this.focus(item.controls[0]);
      return undefined;
    }
    // A line left empty would count as a try: that is meant only by whoever asks again.
    const given = answer.values.map((value) => value.text).join();
    const empty = item.controls.findIndex((control) => !control.draft().trim());
    if (empty >= 0 && item.controls.length > 1 && !owed && item.incomplete !== given) {
      item.incomplete = given;
      item.line.textContent = `“${question.cells[empty].label.replace(/[*`]/g, "")}” is empty; nothing was counted. ${item.check.textContent} again if you leave it so.`;
      this.focus(item.controls[empty]);
      return undefined;
    }
    item.incomplete = null;
    const source = sourceOf(item.cell).replace(/^ask\(.*\)[ ]*(#.*)?$/m, "");
    item.dirty = false;
    item.judged = true;
    // Until its verdict is there the browser keeps that it was asked for, and how the question stood.
    const again = item.owed !== undefined && (item.counted || item.owed !== this.standing(item));
    item.counted = false;
    item.owed ??= this.standing(item);
    this.unsaved.put(question.key, item.controls.map((control) => control.draft()), true, item.owed);
    const sent = this.quietly(source, `${FAR}given(${keyText(question.key)})`);
    return Promise.all([sent, this.verdict(item, again ? AGAIN : NOW)]);
  }

  standing(item) { return JSON.stringify(this.rows.get(item.question.key) ?? null); }

  // Verdicts that were asked for and did not come: what worked them out had stopped, or the page was closed too soon. A
  // try that was counted all the same, and so changed how the question stands, is not counted twice.
  async owe() {
    const owed = [...this.items.values()].filter((item) => item.owed !== undefined && !item.own);
    if (!owed.length) return;
    await this.recap();
    for (const item of owed) {
      for (let n = 0; n < TWICE && item.owed !== undefined && !this.lost; n++) await this.judge(item, true);
    }
  }

  // A flight is taken by a cell of its own, below the panel.
  flightName(item) {
    const cells = [...this.panel.content.widgets], at = cells.indexOf(item.cell);
    const takes = new RegExp(`^(\\w+) = flight_of\\("${item.question.key}"\\)`, "m");
    return cells.slice(at, at + 3).map((cell) => takes.exec(sourceOf(cell))?.[1]).find(Boolean);
  }

  async verdict(item, how = NOW) {
    const cell = this.cellAfter(item);
    if (!cell) { item.line.textContent = "The cell that checks this was taken out: begin the lesson again to have it back."; return; }
    if (!this.kernel()) { this.tell("The lesson is not ready yet; the answer is kept. Check again in a moment."); return; }
    cell.addClass("nl-wait");
    const stops = this.lost ? -1 : this.stops;
    // The verdict comes before its picture: it is said as soon as it is there.
    let told = false;
    const tell = () => {
      const said = bundlesOf(cell).find((each) => each.verdict || each.answer);
      if (told || !said) return;
      told = true;
      cell.removeClass("nl-wait");
      cell.removeClass("nl-stale");
      const word = said.verdict ? WORDS[said.verdict.outcome] ?? "" : "Noted";
      this.live.textContent = `${item.question.title}: ${word}. ${(said.verdict?.text ?? "").replace(/[*`]/g, "")}`;
      // What was judged without anything to judge shows no verdict; why, is said at the button.
      if (said.verdict?.outcome === "NOT_ATTEMPTED") item.line.textContent = said.verdict.text.replace(/[*`]/g, "");
      requestAnimationFrame(() => this.inSight(cell.hasClass("nl-blank") ? item.line : cell.node));
    };
    this.live.textContent = "";
    // What stands there from the last time is no verdict on this answer.
    const first = cell.model.outputs.get(0);
    const look = () => { if (cell.model.outputs.get(0) !== first) tell(); };
    cell.model.outputs.changed.connect(look);
    const done = await this.execute(cell, how);
    cell.model.outputs.changed.disconnect(look);
    // What gave it up, a kernel that stopped or a second press, has it come again.
    if (!done || this.lost || stops !== this.stops) { cell.removeClass("nl-wait"); return; }
    this.worked(item, { checked: new Date().toISOString() });
    tell();
    if (told && item.owed !== undefined) {
      item.owed = undefined;
      this.unsaved.answered(item.question.key);
    }
    cell.removeClass("nl-wait");
    cell.removeClass("nl-stale");
    this.save();
    await this.recap();
    this.lab.answered();
    const rows = [...this.rows.values()];
    if (this.key === "review" && rows.length && rows.every((row) => row.outcome !== "NOT_ATTEMPTED")) {
      this.tell("Every question of this sitting is answered.", "All lessons", () => this.leave());
    }
  }

  // The notebook says itself how many hints were taken and when an answer was checked last: an instructor reads it.
  worked(item, more) {
    const there = item.cell.model.getMetadata("needlework") ?? {};
    const worked = { ...there.worked, key: item.question.key, ...more };
    item.cell.model.setMetadata("needlework", { ...there, worked });
  }

  async hint(item, button, place) {
    // A button that is disabled loses the focus, and the next key goes nowhere or far away.
    if (button.getAttribute("aria-disabled") === "true") return;
    const closed = (yes) => button.setAttribute("aria-disabled", String(yes));
    closed(true);
    const said = await this.quietly("", `${FAR}hint(${keyText(item.question.key)})`);
    const given = said?.[MIME]?.hint;
    closed(false);
    if (!given) { item.line.textContent = "The lesson is not ready yet. Try again in a moment."; return; }
    if (given.rung) this.worked(item, { hints: given.rung });
    const name = given.rung ? `${given.name} (hint ${given.rung} of ${given.of})` : given.name;
    const shown = this.tag("div", { class: "nl-hint" }, this.tag("b", {}, name), this.tag("div", {}, this.fields.marked(given.text)));
    place.append(shown);
    this.inSight(shown);
    this.live.textContent = `${name}: ${given.text.replace(/[*`]/g, "")}`;
    if (given.rung === given.of) closed(true);
  }

  async recap() {
    const called = new RegExp(`^recap\\("${this.key}"\\)`, "m");
    const cell = [...this.panel.content.widgets].find((each) => isCode(each) && called.test(sourceOf(each)));
    if (cell) await this.execute(cell, AGAIN);
  }

  // ---------------------------------------------------------------- the kernel
  kernel() { return this.session.session?.kernel ?? null; }

  // A session that another page began may bring its kernel a moment after it says that it is ready.
  kernelThere() {
    if (this.kernel()) return this.kernel();
    return new Promise((resolve) => {
      const done = () => { clearTimeout(late); this.session.kernelChanged.disconnect(look); resolve(this.kernel()); };
      const look = () => { if (this.kernel()) done(); };
      const late = setTimeout(done, KERNEL_MS);
      this.session.kernelChanged.connect(look);
    });
  }

  async execute(cell, how) {
    // A cell that is run again while it runs gives up its first run: that is no fault.
    return Boolean(await this.lab.cells.CodeCell.execute(cell, this.session, how).catch(() => null));
  }

  async quietly(code, expression = "") {
    const kernel = this.kernel();
    if (!kernel) return null;
    const expressions = expression ? { said: expression } : {};
    try {
      const future = kernel.requestExecute({ code, silent: true, store_history: false, user_expressions: expressions }, false, NOW);
      const reply = await future.done, said = reply.content.user_expressions?.said;
      this.process = reply.header.session;
      return said?.status === "ok" ? said.data : null;
    } catch { return null; }
  }

  // The server is away: there is nothing to be done from here, and nothing is lost.
  gone() {
    if (this.unanswered) return;
    this.unanswered = true;
    this.tell(this.lab.GONE);
    const look = async () => {
      if (this.panel.isDisposed) return;
      if (await this.lab.answers()) this.there(); else setTimeout(look, AGAIN_MS);
    };
    setTimeout(look, AGAIN_MS);
  }

  // A server that was started again knows nothing of what had worked the answers out.
  async there() {
    this.unanswered = false;
    this.tell("");
    await this.saveNow();
    if (await this.lab.lives(this.context.path)) return;
    this.tell("The course is there again. What you gave is kept: load the page anew to go on.", "Load anew", () => this.lab.anew(this.context.path));
  }

  status(status) {
    this.panel._autorestarting = true;
    if (this.unanswered && status === "dead") return;
    this.panel.node.dataset.kernel = status;
    if (status !== "restarting" && status !== "autorestarting" && status !== "dead") return;
    this.tell("What works the answers out had stopped and is being started again. Your answers are kept.");
    if (!this.lost) this.afresh();
  }

  // JupyterLab tells no "idle" of a kernel that nobody has asked for anything yet, so the new one is asked for its name.
  async afresh() {
    this.lost = true;
    this.stops++;
    const before = this.process, late = (ms) => new Promise((resolve) => setTimeout(resolve, ms));
    const givenUp = (words) => this.tell(`${words} Your answers are kept. Load the page anew to try again.`, "Load anew", () => this.lab.anew(this.context.path));
    // A lesson that ends what works it out each time it is run would be started again for ever.
    this.deaths = [...(this.deaths ?? []), performance.now()].slice(-DEATHS);
    if (this.deaths.length === DEATHS && this.deaths.at(-1) - this.deaths[0] < DEATHS_MS) { givenUp("What works the answers out stops again and again."); return; }
    let since = performance.now();
    for (let began = 0; !this.panel.isDisposed;) {
      const reply = await Promise.race([this.kernel()?.requestKernelInfo().catch(() => null), late(AGAIN_MS)]);
      if (reply && reply.header.session !== before) { this.process = reply.header.session; break; }
      await late(SAVE_MS);
      // What stops again and again is not started again by the server.
      const there = this.kernel();
      if (this.unanswered) since = performance.now();
      if (this.unanswered || (there && there.status !== "dead" && performance.now() - since < KERNEL_MS)) continue;
      since = performance.now();
      const name = this.session.prevKernelName || "python3";
      if (began++ < STARTS) {
        // Another window on this lesson may have begun anew already: the two share what works their answers out. Else the
        // session whose kernel has ended may be forgotten by the server: it is not asked to go on.
        const id = await this.lab.kernelOf(this.context.path, there?.id);
        await (id ? Promise.resolve() : this.session.shutdown()).then(() => this.session.changeKernel(id ? { id } : { name })).catch(() => null);
      }
      else { givenUp("What works the answers out does not start."); return; }
    }
    this.lost = false;
    await this.run(false, this.cellsInSight());
    if (this.lost) return;
    await this.owe();
    if (this.lost) return;
    const words = "The lesson was started again; your answers are as they were.";
    this.tell(words);
    setTimeout(() => { if (this.banner.textContent === words) this.tell(""); }, 8000);
  }

  async start() {
    this.say("Getting ready …");
    await this.arriveEarly();
    this.lab.unveil(this.panel);
    await this.session.ready;
    const kernel = await this.kernelThere();
    if (!kernel) {
      this.readying = false;
      this.say("");
      this.tell("The lesson could not be started: open it again from the list of lessons.");
      return;
    }
    await kernel.info;
    await this.fillIn();
    const live = await this.quietly("", `${FAR}begun()`);
    const shown = [...this.panel.content.widgets].some((cell) => this.items.has(cell));
    if (shown && live?.["text/plain"] === `'${this.key}'`) {
      const cells = [...this.panel.content.widgets].filter((cell) => still.has(cell.model));
      await Promise.all(cells.map((cell) => this.execute(cell, AGAIN)));
      // What the file holds of it may be older than the answers.
      await this.recap();
      this.say("");
      await this.putBack();
      this.arrive();
      this.ready();
      return;
    }
    await this.run();
    await this.putBack();
    this.arrive();
    this.ready();
  }

  ready() {
    this.readying = false;
    this.beside.look();
    this.panel.node.dataset.lesson = "ready";
    this.owe();
  }

  async mayRun() {
    const cells = [...this.panel.content.widgets].filter(isCode).map((cell) => ({ id: cell.model.id, source: sourceOf(cell) }));
    const said = await this.lab.server("needlework/runnable", { lesson: this.key, path: this.context.path, cells });
    return said ?? { known: false, run: [] };
  }

  // What the reader is at, and what it stands on: the first cell, and those that bring a name which is used there.
  cellsInSight() {
    const cells = [...this.panel.content.widgets].filter(isCode), room = this.room();
    const all = [...this.panel.content.widgets], seen = all.map((cell) => cell.node.getBoundingClientRect())
      .map((at, n) => (at.height && at.bottom > room.top && at.top < room.bottom ? n : -1)).filter((n) => n >= 0);
    // The cells that check stand hidden behind what they check.
    const from = seen[0] ?? 0, to = (seen.at(-1) ?? 0) + 1;
    const wanted = new Set(cells.filter((cell) => all.indexOf(cell) >= from && all.indexOf(cell) <= to));
    for (const cell of [...wanted]) {
      for (const other of cells.slice(0, cells.indexOf(cell))) {
        const brought = [...sourceOf(other).matchAll(/^(?:from [\w.]+ )?import (.+)$/gm)].flatMap((found) => found[1].split(/,\s*/));
        if (brought.some((name) => new RegExp(`\\b${name.trim()}\\b`).test(sourceOf(cell)))) wanted.add(other);
      }
    }
    return new Set([cells[0], ...cells.filter((cell) => wanted.has(cell))]);
  }

  // Runs what is the course's own and leaves everything else to the learner; stays where the page is. With some cells
  // named these are run before all others, and it is done when they are; the others follow by themselves.
  async run(all = false, first = null) {
    this.say("Getting ready …");
    this.may = await this.mayRun();
    const cells = [...this.panel.content.widgets].filter(isCode), runs = [], soon = [];
    let strange = 0;
    const order = first ? [...cells.filter((cell) => first.has(cell)), ...cells.filter((cell) => !first.has(cell))] : cells;
    order.forEach((cell) => {
      const n = cells.indexOf(cell);
      if (first && !soon.length && !first.has(cell)) soon.push(...runs);
      const own = this.may.run[n] || all;
      cell.toggleClass("nl-foreign", false);
      if (this.may.known || all) {
        if (own) { runs.push(this.execute(cell, AGAIN)); return; }
        const asks = /^ask\("([\w-]+)"\)/m.exec(sourceOf(cell));
        if (asks && this.may.known) {
          runs.push(this.lab.outputarea.OutputArea.execute(asks[0], cell.outputArea, this.session, AGAIN).catch(() => {}));
          return;
        }
      }
      strange++;
      cell.toggleClass("nl-foreign", true);
    });
    if (!this.may.known && !all) {
      this.tell("This lesson is neither the course's nor one of your folder, so nothing in it was run. Run it only if you know who made it.", "Run it all the same", () => { this.tell(""); this.run(true); });
    } else if (strange) {
      const words = strange === 1
        ? "One cell is not the course's. It was not run and is shown with its code. Run it only if you know who wrote it."
        : `${strange} cells are not the course's. They were not run and are shown with their code. Run them only if you know who wrote them.`;
      this.tell(words, "Run all the same", () => { this.tell(""); this.run(true); });
    }
    const rest = Promise.all(runs).then(() => this.ran());
    await (first ? Promise.all(soon) : rest);
    this.say("");
  }

  ran() {
    for (const [cell, item] of this.items) if (isCode(cell)) item.judged = !this.cellAfter(item)?.hasClass("nl-blank");
    this.save();
  }

  // One save at a time, JupyterLab's own included: of two at once it believes that somebody else has changed the file.
  inTurn() {
    const { context } = this, plain = context.save.bind(context);
    let last = Promise.resolve(), saving = false;
    // Nor of a server that goes away while a save is on its way, or a disk that is full: the lesson says it.
    const lament = context._handleError?.bind(context);
    context._handleError = async (...said) => { if (!saving) await lament?.(...said); };
    // A save whose answer was lost may stand in the file all the same. JupyterLab would take that for somebody else's.
    let tried = "";
    const ours = async () => {
      const there = await this.lab.file(context.path);
      if (there && JSON.stringify(there.content.cells.map((cell) => cell.source)) === tried) context._updateContentsModel?.(there);
      if (there) tried = "";
    };
    const undecided = () => Object.assign(new Error("Changed elsewhere."), { name: "ModalCancelError" });
    context._raiseConflict = async () => { this.twice = true; this.choose(); throw undecided(); };
    const save = async (given) => {
      if (this.twice) { if (this.banner.hidden) this.choose(); throw undecided(); }
      // JupyterLab would put a dialog of its own over the lesson.
      if (!(await this.lab.answers())) { this.gone(); throw new Error("Nobody answers."); }
      if (tried) await ours();
      const began = this.lab.now(), before = context.contentsModel?.last_modified, { model } = context;
      let written = false;
      const changed = () => { written = true; };
      model.contentChanged.connect(changed);
      saving = true;
      const sources = JSON.stringify([...model.cells].map((cell) => cell.sharedModel.getSource()));
      try {
        return await plain(...given);
      } catch (fault) {
        tried = sources;
        if (!(await this.lab.answers())) this.gone();
        throw fault;
      } finally {
        saving = false;
        model.contentChanged.disconnect(changed);
        if (context.contentsModel?.last_modified !== before) this.unsaved.saved(began);
        // JupyterLab takes what was written while it saved for saved as well.
        if (written && !context.isDisposed) { model.dirty = true; this.save(); }
      }
    };
    context.save = (...given) => (last = last.catch(() => {}).then(() => save(given)));
  }

  // Answers that differ between here and the file, value by value; null where more than answers differs.
  apart(there) {
    const cells = [...this.panel.content.widgets], theirs = there.content.cells, found = [];
    const blank = (text) => ["None", "", '""', "''"].includes(text);
    const bare = (source, values) => values.reduceRight((text, { from, to }) => text.slice(0, from) + text.slice(to), source);
    if (cells.length !== theirs.length) return null;
    for (const [n, cell] of cells.entries()) {
      const here = sourceOf(cell), other = [theirs[n].source].flat().join("");
      if (here === other) continue;
      const name = /^begin\(/m.test(here) ? "student" : "";
      const [ours, given] = [here, other].map((source) => this.reading.answerIn(source, name));
      if (!ours || !given || cell.model.id !== theirs[n].id || bare(here, ours.values) !== bare(other, given.values)) return null;
      const taken = ours.values.map(({ text }, at) => (blank(text) ? given.values[at].text : null));
      const left = given.values.map(({ text }, at) => (blank(text) ? ours.values[at].text : null));
      const both = ours.values.some(({ text }, at) => text !== given.values[at].text && !blank(text) && !blank(given.values[at].text));
      found.push({ cell, name: ours.name, taken, left, both, there: theirs[n], given });
    }
    return found;
  }

  // What only the file has an answer to is taken into the lesson, with its verdict.
  async takeIn(found) {
    for (const { cell, name, taken } of found) {
      const before = sourceOf(cell), item = this.items.get(cell);
      this.write(cell, name, taken);
      if (!item || sourceOf(cell) === before) continue;
      this.fill(item);
      const check = this.cellAfter(item);
      await this.execute(cell, AGAIN);
      if (check) { await this.execute(check, AGAIN); check.toggleClass("nl-stale", false); }
      item.judged = !check?.hasClass("nl-blank");
    }
    await this.recap();
  }

  // The same lesson in two tabs, or changed by another program. Where only one of the two has an answer that one counts;
  // of what was answered differently the reader says which counts, and neither is lost.
  async choose() {
    if (this.choosing) return;
    this.choosing = true;
    await this.together().finally(() => { this.choosing = false; });
  }

  async together() {
    const { context } = this, there = await this.lab.file(context.path), found = there && this.apart(there);
    if (found && !found.some(({ both }) => both)) {
      context._updateContentsModel(there);
      this.twice = false;
      await this.takeIn(found);
      context.model.dirty = true;
      const words = "This lesson is open in another tab too: what was answered there is taken in.";
      this.tell(words);
      setTimeout(() => { if (this.banner.textContent === words) this.tell(""); }, 8000);
      this.save();
    } else this.ask(found);
  }

  ask(found) {
    const { context } = this, { model, path } = context;
    const aside = async (ours) => {
      const kept = await this.lab.aside(path, ours);
      if (kept) this.twice = false;
      else this.tell("The other one could not be kept. Is the disk full, or the folder read-only?", "Choose again", () => this.ask(found));
      return kept;
    };
    this.tell(
      found
        ? "Something was answered differently here and in another tab. Nothing is saved until you choose which counts; what only one of the two has an answer to is kept either way, and the other version as a file beside it."
        : "This lesson was changed since it was opened here, in another tab or by another program. Nothing is saved until you choose; the other one is kept as a file beside it.",
      "Keep what is here", async () => {
        const kept = await aside(), there = kept && (await this.lab.file(path));
        if (!there) return;
        context._updateContentsModel(there);
        await this.takeIn(this.apart(there) ?? []);
        model.dirty = true;
        this.tell(`What was changed elsewhere is kept as “${kept}”.`);
        await this.saveNow();
      },
      "Take what is there", async () => {
        if (!(await aside(model.toJSON()))) return;
        const there = await this.lab.file(path), now = there && this.apart(there);
        for (const { there: cell, given, left } of now ?? []) {
          cell.source = given.values.reduceRight((text, { from, to }, at) => text.slice(0, from) + (left[at] ?? text.slice(from, to)) + text.slice(to), [cell.source].flat().join(""));
        }
        if (now?.some(({ left }) => left.some((each) => each !== null)) && !(await this.lab.put(path, there.content))) return;
        model.dirty = false;
        this.unsaved.drop();
        this.lab.anew(path);
      },
    );
  }

  // The last save before the lesson is closed by something other than its reader.
  async rest() {
    this.resting = true;
    clearTimeout(this.timer);
    if (this.context.model.dirty && !this.context.model.readOnly) await this.context.save().catch(() => {});
  }

  save() {
    clearTimeout(this.timer);
    if (this.resting) return;
    this.timer = setTimeout(() => this.saveNow(), SAVE_MS);
  }

  async saveNow() {
    clearTimeout(this.timer);
    this.timer = 0;
    try {
      if (!this.context.model.readOnly && this.context.model.dirty) await this.context.save();
    } catch { if (!this.unanswered && !this.twice) this.tell("The lesson could not be saved. Is the disk full, or the folder read-only?"); }
  }
}
