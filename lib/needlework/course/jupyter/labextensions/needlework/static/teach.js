// A lesson before a class: one thing on the screen, one key one beat. Everything shown comes from the server as data,
// so nothing here waits for a kernel. The notebook beneath is neither read nor changed.

const CALLED = {
  picture: "", ask: "", think: "Think", try: "Move it", vote: "Vote", hold: "Say why", second: "Vote again", answer: "", wrong: "", why: "",
  fly: "Your orders", replay: "Shown again", beside: "Beside the wanted flight", what: "What was seen", cause: "Why", next: "Next time",
  work: "On your sheet", answers: "Check it",
};
const SAID = { fault: "to find", paper: "sheet" };
const SEEN = ["think", "vote", "hold", "second", "answer", "wrong"];
const SECONDS = { vote: 30, hold: 90, second: 30, work: 300 };
const KINDS = { plan: "plan", profile: "plan", deviation: "needle", heading: "numbers", dial: "numbers", digits: "numbers" };
const COVERS = [["plan", "1"], ["needle", "2"], ["numbers", "3"], ["sentence", "4"], ["future", "5"]];
const COVERED = { "what-if": ["sentence", "future"], fly: ["plan", "sentence"], replay: ["plan", "sentence"], beside: [] };
const RATES = [1, 2, 5, 10, 20];
const AHEAD = 40, BACK_S = 15, SKIP_S = 10, SLOW_MS = 300, AWAY_MS = 1000, OLD_FLIGHTS = 5;
const FLOWN_S = 30, LEAVE_MS = 4000, KEEP_MS = 250, AGAIN_MS = 1000;
const NAME_ROOM = 172;
// Where a name on a map may stand, the best first: on the side where it was drawn or on the other, and lines lower.
const NAME_PLACES = [[0, 0], [0, 0.5], [0, -0.5], [1, 0], [1, 0.5], [1, -0.5], ...[1, 1.5, 2].flatMap((down) => [[0, down], [0, -down], [1, down], [1, -down]])];
// Left and right, above and below what is on the wall, and the two lines of words under it, as teach.css has them.
const EDGES = [56, 28], WORDS_HIGH = 96;
const BESIDE = [2, 1.5, 1.25, 1];
const INK_STEP = 0.004, MOST_POINTS = 4000;
const PERIOD_MIN = 45;
const CAUTION = "Training aid with invented data. Not for navigation.";
// What each key does, and where: "" everywhere, else on the screens of that kind.
const CARD = [
  ["", "Page Down, Page Up", "next beat, one beat back"],
  ["", ". or b", "black; again: the picture"],
  ["", "g 12 Enter", "to step 12"],
  ["", "m 4 Enter", "timer of 4 minutes; m Enter: none"],
  ["", "c 18 Enter", "18 in the class"],
  ["", "d, h, x", "draw or end drawing, draw dashes, wipe"],
  ["", "p, o", "paper to sketch on, ring round the pointer"],
  ["heard", "l", "play the recording, stop it"],
  ["heard", "4", "its dots and dashes, when all have listened"],
  ["vote", "9 2 5 2 Enter", "the counts of A, B, C, D"],
  ["answer", "Shift + A", "what is wrong with A"],
  ["seen", "v", "picture or question seen again, and back"],
  ["moves", "Space, n", "fly or freeze, fly to the next needle"],
  ["moves", "1 2 3 4 5, 0", "cover plan, needle, numbers, words, way on"],
  ["moves", "+ −, s 1", "faster, slower; one instrument alone"],
  ["knobs", "↑ ↓, ← →", "choose a knob, move it a notch"],
  ["knobs", "r", "back to the setting"],
  ["fly", "↑ ↓", "what is ordered"],
  ["fly", "← →, Shift", "less or more of it; a small notch"],
  ["fly", "Backspace, r", "take 15 seconds back, begin anew"],
  ["replay", "n", "to what comes next, and stop before it"],
  ["replay", "← →, Shift", "10 seconds; from event to event"],
  ["flights", "f", "another flight"],
  ["beside", "t", "by the clock, by the place"],
  ["", "?", "the keys of what is on the wall; again: these"],
  ["", "Escape twice", "leave"],
];

export class Classroom {
  constructor(lab, { fields, rendermime }, key, from = "") {
    Object.assign(this, { lab, tag: fields.tag, marked: fields.marked, rendermime, key, from });
    this.films = new Map();
    this.flights = new Map();
    this.stills = new Map();
    this.typed = "";
    this.open();
  }

  // ---------------------------------------------------------------- in and out
  async open() {
    const { tag } = this;
    this.before = document.activeElement;
    this.name = tag("span", { class: "nt-name" });
    this.time = tag("span", { class: "nt-time" });
    this.count = tag("span", { class: "nt-step" });
    this.body = tag("div", { class: "nt-body" });
    this.foot = tag("span", {});
    this.node = tag("div", { class: "nt", tabindex: "-1", role: "application", "aria-label": "Lesson before a class" },
      tag("div", { class: "nt-head" }, this.name, this.time, this.count), this.body,
      tag("div", { class: "nt-foot" }, tag("span", {}, CAUTION), this.foot));
    this.node.classroom = this;
    document.body.append(this.node);
    this.node.focus();
    this.node.requestFullscreen?.().catch(() => {});
    this.pressed = (event) => this.press(event);
    this.let = (event) => { event.stopImmediatePropagation(); event.preventDefault(); };
    window.addEventListener("keydown", this.pressed, true);
    for (const kind of ["keyup", "keypress"]) window.addEventListener(kind, this.let, true);
    this.full = () => { if (!document.fullscreenElement && this.wasFull) this.leaving(); this.wasFull = Boolean(document.fullscreenElement); };
    document.addEventListener("fullscreenchange", this.full);
    this.sized = () => { if (this.deck) this.rebuild(); };
    window.addEventListener("resize", this.sized);
    this.points = (event) => { this.pointer = [event.clientX, event.clientY]; this.ringAt(); };
    window.addEventListener("pointermove", this.points);
    this.wait("Getting ready …");
    const [deck, faces] = await Promise.all([this.ask("deck", { lesson: this.key }), this.lab.faces()]);
    if (this.gone) return;
    this.deck = deck;
    this.faces = faces;
    this.kept = { votes: {}, size: 0, period: "", place: "", flown: {}, drawn: {}, ...deck.kept };
    this.periods();
    await this.prepare();
    if (this.gone) return;
    this.wait("");
    this.choose();
  }

  // Asks until there is an answer: a server that is being started again is waited for, and the class sees that it is.
  async ask(what, body) {
    for (let tries = 0; !this.gone; tries++) {
      const said = await this.lab.server(`needlework/class/${what}`, body, true);
      if (said?.refused) { this.wait(said.refused); return new Promise(() => {}); }
      if (said) { if (tries && !--this.away) this.wait(""); return said; }
      if (!tries) this.away = (this.away ?? 0) + 1;
      this.wait(tries > 5 ? "The course does not answer. Is it still running?" : "Getting ready …");
      await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
    }
    return new Promise(() => {});
  }

  leaving() {
    if (performance.now() - (this.escaped ?? -1e9) < LEAVE_MS) { this.leave(); return; }
    this.escaped = performance.now();
    this.foot.textContent = "Escape again";
    setTimeout(() => { if (!this.gone) this.footed(); }, LEAVE_MS);
  }

  leave() {
    this.gone = true;
    this.keep(true);
    this.stop();
    this.hush();
    clearInterval(this.ticking);
    window.removeEventListener("keydown", this.pressed, true);
    for (const kind of ["keyup", "keypress"]) window.removeEventListener(kind, this.let, true);
    document.removeEventListener("fullscreenchange", this.full);
    window.removeEventListener("resize", this.sized);
    window.removeEventListener("pointermove", this.points);
    if (document.fullscreenElement) document.exitFullscreen().catch(() => {});
    this.node.remove();
    this.before?.focus?.();
  }

  keep(now = false) {
    clearTimeout(this.keeping);
    if (!this.kept) return;
    const send = () => this.lab.server("needlework/class/kept", { lesson: this.key, kept: this.kept });
    if (now) send(); else this.keeping = setTimeout(send, KEEP_MS);
  }

  wait(words) {
    this.waiting?.remove();
    this.waiting = null;
    this.body.querySelector(".nt-stage")?.classList.toggle("nt-grey", Boolean(words));
    if (words) this.body.append((this.waiting = this.tag("div", { class: "nt-wait" }, words)));
  }

  // A sentence to the teacher on the wall, until the next key.
  note(words) {
    this.noted?.remove();
    this.noted = null;
    if (words) this.node.append((this.noted = this.tag("div", { class: "nt-wait nt-note" }, words)));
  }

  // ---------------------------------------------------------------- from steps to screens
  async prepare() {
    this.prose = new Map();
    for (const step of this.deck.steps) {
      const said = step.kind === "text" ? step.text : step.table;
      if (!said) continue;
      const made = this.rendermime.createRenderer("text/markdown");
      await made.renderModel(this.rendermime.createModel({ data: { "text/markdown": said } }));
      for (const anchor of made.node.querySelectorAll(".jp-InternalAnchorLink")) anchor.remove();
      // What is folded away is for those who read alone.
      this.prose.set(step.name, [...made.node.children].filter((block) => !block.matches("details")));
    }
  }

  rebuild() {
    const here = this.screens?.[this.at];
    this.build();
    this.go(here ? this.find(here.id) : 0, true);
  }

  // Those of the lesson, and before them the teacher's own.
  periods() {
    this.given ??= this.deck.periods;
    const minutes = new Map(this.deck.steps.map((step) => [step.name, step.minutes]));
    const own = this.deck.own.map((each) => ({ ...each, own: true, steps: each.steps.filter((name) => minutes.has(name)) })).filter((each) => each.steps.length);
    for (const each of own) each.minutes = each.steps.reduce((sum, name) => sum + minutes.get(name), 0);
    this.deck.periods = [...own, ...this.given];
  }

  // Every screen of the period in order: a step is one or more of them, and what does not fit is parted.
  build() {
    const period = this.deck.periods.find((each) => each.name === this.kept.period);
    const names = period ? period.steps : this.deck.steps.filter((step) => step.kind !== "paper").map((step) => step.name);
    const steps = names.map((name) => this.deck.steps.find((step) => step.name === name)).filter(Boolean);
    this.steps = steps;
    this.large = new Map();
    this.screens = [{ id: "title", step: null, number: 0, draw: () => this.titled(period) }];
    steps.forEach((step, n) => {
      this.screensOf(step).forEach(([beat, draw, more]) => this.screens.push({ id: `${step.name}:${beat}`, step, beat: beat.split(" ")[0], number: n + 1, draw, ...more }));
    });
    this.screens.push({ id: "end", step: null, number: steps.length, draw: () => this.sheet(this.tag("div", { class: "nt-word" }, "That is all for today.")) });
  }

  // Each as its beat, what draws it, and what else is known of it.
  screensOf(step) {
    switch (step.kind) {
      case "text": return this.textScreens(step);
      case "picture": return [["show", () => this.still(step)]];
      case "what-if": return step.beats.map((beat) => [beat, () => this.whatIf(step, beat)]);
      case "flight": return this.flightScreens(step);
      case "fault": return this.faultScreens(step);
      case "plate": return this.plateScreens(step);
      case "paper": return this.paperScreens(step);
      default: return this.questionScreens(step);
    }
  }

  find(id) {
    const at = this.screens.findIndex((screen) => screen.id === id);
    if (at >= 0) return at;
    const step = this.screens.findIndex((screen) => screen.step && id?.startsWith(`${screen.step.name}:`));
    return Math.max(0, step);
  }

  // True where a sheet with this on it is no higher than the room.
  fits(...inside) {
    const sheet = this.tag("div", { class: "nt-sheet", style: "visibility:hidden" }, ...inside);
    this.body.append(sheet);
    const good = sheet.scrollHeight <= sheet.clientHeight + 1 && sheet.scrollWidth <= sheet.clientWidth + 1;
    sheet.remove();
    return good;
  }

  // Blocks one after the other on as few sheets as they need; what is too long alone is parted, lines or sentences.
  parted(blocks, holder) {
    const sheets = [];
    let now = [];
    const fits = (list) => this.fits(holder(list.map((each) => each.cloneNode(true))));
    const close = () => { if (now.length) sheets.push(now); now = []; };
    const queue = [...blocks];
    while (queue.length) {
      const block = queue.shift();
      if (fits([...now, block])) { now.push(block); continue; }
      const parts = this.halved(block);
      if (parts && (!now.length || fits([...now, parts[0]]))) { queue.unshift(...parts); continue; }
      if (now.length) { close(); queue.unshift(block); continue; }
      now.push(block);
      close();
    }
    close();
    return sheets;
  }

  // A block as its first line and the rest; null where there is nothing to part.
  halved(block) {
    const rows = block.matches("table") ? [...block.querySelectorAll("tbody tr")] : block.matches("ul, ol") ? [...block.children] : null;
    if (rows) {
      if (rows.length < 2) return block.matches("table") ? null : this.sentences(block);
      const half = Math.ceil(rows.length / 2), [first, second] = [block.cloneNode(true), block.cloneNode(true)];
      const inside = (copy) => (block.matches("table") ? [...copy.querySelectorAll("tbody tr")] : [...copy.children]);
      inside(first).slice(half).forEach((row) => row.remove());
      inside(second).slice(0, half).forEach((row) => row.remove());
      if (block.matches("ol")) second.setAttribute("start", String(Number(block.getAttribute("start") ?? 1) + half));
      return [first, second];
    }
    return this.sentences(block);
  }

  sentences(block) {
    // At the end of the sentence nearest to the middle; a part of one only where there is but one, and never in brackets.
    const words = block.textContent, depth = (end) => (words.slice(0, end).match(/[([]/g) ?? []).length - (words.slice(0, end).match(/[)\]]/g) ?? []).length;
    const nearest = (marks) => [...words.matchAll(marks)].map((end) => end.index + end[0].length).filter((end) => end < words.length && !depth(end))
      .sort((a, b) => Math.abs(a - words.length / 2) - Math.abs(b - words.length / 2))[0];
    const at = nearest(/[.?!][)"”’*]*\s+/g) ?? nearest(/[:;]\s+/g);
    if (!at) return null;
    const range = document.createRange(), walk = document.createTreeWalker(block, NodeFilter.SHOW_TEXT);
    let seen = 0, node = walk.nextNode();
    while (node && seen + node.length < at) { seen += node.length; node = walk.nextNode(); }
    range.setStart(block, 0);
    range.setEnd(node, at - seen);
    const [first, second] = [block.cloneNode(false), block.cloneNode(false)];
    first.append(range.cloneContents());
    range.setStart(node, at - seen);
    range.setEnd(block, block.childNodes.length);
    second.append(range.cloneContents());
    return [first, second];
  }

  // Blocks on as many screens as they need.
  blockScreens(beat, blocks, holder = (list) => this.tag("div", {}, ...list)) {
    return this.parted(blocks, holder).map((list, n) => [`${beat} ${n + 1}`, () => this.sheet(holder(list.map((each) => each.cloneNode(true))))]);
  }

  // What was written as prose.
  written(step, beat) { return this.blockScreens(beat, this.prose.get(step.name), (list) => this.tag("div", { class: "nt-prose" }, ...list)); }

  textScreens(step) {
    const at = this.steps.indexOf(step);
    // A text that speaks of a picture is not without it, also where the period leaves the picture's own step out.
    const image = step.pictured && ![this.steps[at - 1], this.steps[at + 1]].some((near) => near?.name === step.pictured) && this.deck.steps.find((each) => each.name === step.pictured);
    const picture = image ? [["picture", () => this.still(image)]] : [];
    return [...picture, ...this.written(step, "show")];
  }

  sheet(...inside) { return this.tag("div", { class: "nt-sheet" }, ...inside); }

  // What leaves room is written larger.
  grown(sheet) {
    if (sheet.querySelector(".nt-still, .nt-board")) return;
    for (const times of [1.6, 1.4, 1.25, 1.12]) {
      sheet.style.zoom = times;
      if (sheet.scrollHeight <= sheet.clientHeight + 1 && sheet.scrollWidth <= sheet.clientWidth + 1) return;
    }
    sheet.style.zoom = "";
  }

  paragraphs(text, name) {
    return text.split("\n").filter((line) => line.trim()).map((line) => this.tag("p", { class: name }, this.marked(line)));
  }

  flightScreens(step) {
    return [...this.blockScreens("show", this.paragraphs(`${step.text}\n${step.given}`, "nt-question")),
      ["fly", () => this.whatIf(step, "fly")], ["replay", () => this.whatIf(step, "replay")], ["beside", () => this.whatIf(step, "beside")]];
  }

  // A flight with a fault: first what the instruments showed, then one thing after the other of what is said of it.
  faultScreens(step) {
    const told = (beat, names) => [beat, () => {
      const sheet = this.sheet(), film = this.knownFilm(this.filmName(step, "replay"), {});
      const fill = (made) => {
        names.forEach((name, n) => { if (made.told[name]) sheet.append(this.tag("p", { class: n ? "nt-question" : "nt-given" }, this.marked(made.told[name]))); });
        if (sheet.isConnected) this.grown(sheet);
      };
      if (film) fill(film); else this.film(this.filmName(step, "replay"), {}).then(fill);
      return sheet;
    }];
    return [["replay", () => this.whatIf(step, "replay")], told("what", ["when", "what"]), told("cause", ["what", "cause"]), told("next", ["cause", "next"])];
  }

  // A plate band by band; with the station its ident is heard, and seen when all have listened.
  plateScreens(step) {
    const holder = (list) => this.tag("div", { class: "nt-prose" }, ...list);
    return step.lines.flatMap(({ label, right }, n) => {
      const ident = label === "Tune" ? [this.signs(step, 0)] : [];
      const rows = [...ident, ...this.paragraphs(right, "nt-band")], full = this.parted(rows, holder), share = Math.ceil(rows.length / full.length);
      // As many on each sheet: the last line does not stand alone.
      const even = full.map((_, at) => rows.slice(at * share, (at + 1) * share));
      const sheets = even.every((list) => list.length && this.fits(holder(list.map((each) => each.cloneNode(true))))) ? even : full;
      return sheets.map((list, part) => [`band ${n + 1} ${part + 1}`, () => {
        const made = holder(list.map((each) => each.cloneNode(true)));
        made.querySelector(".nt-signs")?.replaceWith(this.signs(step, 0));
        return this.sheet(made);
      }, { part: label, ...(ident.length && !part ? { heard: 0 } : {}) }]);
    });
  }

  // One recording after the other: a letter, and its signs under a cover.
  listenScreens(step) {
    return step.heard.map((_, n) => [`listen ${n + 1}`, () => this.sheet(this.tag("div", { class: "nt-word" }, `Recording ${step.signs[n].label}`), this.signs(step, n)),
      { part: "Listen", heard: n }]);
  }

  signs(step, n) {
    const made = this.tag("div", { class: "nt-signs nt-covered", "data-name": "l: listen. 4: dots and dashes" });
    for (const line of step.signs[n].right.split("\n")) made.append(this.tag("p", {}, line));
    return made;
  }

  // Plays a recording from its beginning, or stops it.
  listen({ step, heard, plays = step.name }) {
    if (this.sound) { this.hush(); return; }
    this.sound = new Audio(this.lab.address(`needlework/class/sound?lesson=${encodeURIComponent(this.key)}&step=${encodeURIComponent(plays)}&number=${heard}`));
    const said = () => { if (this.sound) this.foot.textContent = `listen, ${Math.floor(this.sound.currentTime)} s`; };
    this.sound.addEventListener("timeupdate", said);
    this.sound.addEventListener("ended", () => this.hush());
    this.sound.play().then(said, () => { if (this.sound) { this.hush(); this.note("The recording cannot be played: is there a loudspeaker?"); } });
  }

  hush() {
    if (!this.sound) return;
    this.sound.pause();
    this.sound = null;
    this.footed();
  }

  // Each seat works for itself; the answers of some seats at a time come after it.
  paperScreens(step) {
    const head = () => this.tag("div", { class: "nt-word" }, ...step.text.split("\n").map((line) => this.tag("p", {}, this.marked(line))));
    const row = (line) => this.tag("div", { class: "nt-line nt-seat" }, this.tag("b", {}, line.label), this.tag("span", {}, this.marked(line.right)));
    const sheets = this.sheetsOf(step.lines.slice(0, this.kept.size || step.lines.length), (list) => list.map(row));
    return [["work", () => this.sheet(head())], ...sheets.map((list, n) => [`answers ${n + 1}`, () => this.sheet(...list.map(row))])];
  }

  // ---------------------------------------------------------------- a question
  option(step, option, { counts = [], right = false } = {}) {
    const row = this.tag("div", { class: `nt-option${right ? " nt-right" : ""}`, "data-letter": option.label }, this.tag("b", {}, option.label),
      this.tag("span", {}, option.label === option.right ? "" : this.marked(option.right)));
    if (counts.some((count) => count !== undefined)) {
      const most = Math.max(1, ...Object.values(this.kept.votes[step.name] ?? {}).flat());
      const bars = this.tag("div", { class: "nt-bars" });
      counts.forEach((count, n) => {
        if (count === undefined) return;
        bars.append(this.tag("span", {}, this.tag("i", { class: `nt-bar${n ? " nt-after" : ""}`, style: `width:${(count / most) * 72}%` }), String(count)));
      });
      row.append(bars);
    }
    return row;
  }

  options(step, list = step.options, how = () => ({})) {
    return this.tag("div", { class: "nt-options" }, ...list.map((option) => this.option(step, option, how(option))));
  }

  // Options or lines on as few screens as they need.
  sheetsOf(all, made) {
    const sheets = [];
    let now = [];
    for (const each of all) {
      if (now.length && !this.fits(...made([...now, each]))) { sheets.push(now); now = []; }
      now.push(each);
    }
    if (now.length) sheets.push(now);
    return sheets;
  }

  asked(step) {
    const given = step.given ? this.paragraphs(step.given, "nt-given") : [];
    return [...this.paragraphs(step.text, "nt-question"), ...given];
  }

  questionScreens(step) {
    const screens = [];
    for (const beat of step.beats) {
      if (beat === "picture") screens.push([beat, () => this.still(step)]);
      else if (beat === "listen") screens.push(...this.listenScreens(step));
      else if (beat === "ask" || beat === "think") screens.push(...this.askScreens(step, beat));
      else if (beat === "try") screens.push([beat, () => this.whatIf(step, beat)]);
      else if (beat === "vote" || beat === "hold" || beat === "second") screens.push([beat, () => this.voted(step, beat)]);
      else if (beat === "answer") screens.push(...this.answerScreens(step));
      else if (beat === "wrong") screens.push(...this.wrongScreens(step));
      else screens.push(...this.blockScreens("why", this.paragraphs(`${step.model}\n${step.why}`, "nt-question")));
    }
    return screens;
  }

  // What a question is answered from: the options, or the lines with their blanks.
  material(step, list = step.options.length ? step.options : step.lines, how = undefined) {
    return step.options.length ? this.options(step, list, how) : this.tag("div", {}, ...list.map((line) => this.lineRow(line, false)));
  }

  // Words beside the picture, which keeps the room that its type needs to be read.
  besideWords(step, times, material, image) {
    const [wide, high] = step.beside_px, room = `min-width:${Math.ceil(times * wide)}px;min-height:${Math.ceil(times * high)}px`;
    return this.tag("div", { class: "nt-side" }, this.tag("div", { class: "nt-half", style: room }, image ? this.image(step, times) : this.tag("i", {})), material());
  }

  // How large a picture stands beside what is answered, the same while they think, vote and talk; 0 where it has no
  // room there and a screen of its own.
  besides(step) {
    if (!step.picture) return 0;
    if (!this.large.has(step.name)) {
      const fits = (words) => (times) => this.fits(this.tag("div", { class: "nt-whole" }, this.tag("p", { class: "nt-count" }, "x"), ...words(), this.besideWords(step, times, () => this.material(step), false)));
      this.large.set(step.name, BESIDE.find(fits(() => this.asked(step))) ?? BESIDE.find(fits(() => [])) ?? 0);
    }
    return this.large.get(step.name);
  }

  // The first of these that fits: with the picture, the question above what is answered or not; without it, set closer
  // where it must be, then, where nothing is counted, in two columns; last, once it was asked, without the question. Null where none does.
  together(step, material, { head = [], asked = false } = {}) {
    const words = () => this.asked(step), times = asked ? 0 : this.besides(step), close = (made) => { made.classList.add("nt-close"); return made; };
    const plans = [...(times ? [words, () => []].map((said) => (image) => [...said(), this.besideWords(step, times, material, image)]) : []),
      () => [...words(), material()], () => [...words(), close(material())], ...(head.length ? [] : ["", "nt-two"]).map((columns) => () => [this.tag("div", { class: `nt-tight ${columns}` }, ...words(), close(material()))]), ...(asked ? [] : [() => [material()], () => [close(material())]])];
    for (const plan of plans) {
      const whole = (image) => this.tag("div", { class: "nt-whole" }, ...head.map((each) => each.cloneNode(true)), ...plan(image));
      if (this.fits(whole(false))) return () => this.sheet(whole(true));
    }
    return null;
  }

  askScreens(step, beat) {
    const asks = step.options.length || step.lines.length, question = (named) => this.blockScreens(`${beat}${named}`, this.asked(step));
    if (beat === "ask") {
      const all = asks ? this.together(step, () => this.material(step), { asked: true }) : null;
      return all ? [[beat, all]] : [...question(""), ...(step.options.length ? this.materialScreens(step, beat) : [])];
    }
    // While they think the class has all that it answers from; where that is more than one screen, the time runs on.
    const all = asks ? this.together(step, () => this.material(step)) : null, plate = this.deck.steps.find((each) => each.name === step.plate);
    const picture = !step.picture || (all && all().querySelector(".nt-half")) ? [] : [[`${beat} picture`, () => this.still(step)]];
    const screens = [...(all ? [[beat, all]] : asks ? this.materialScreens(step, beat) : question("")), ...picture];
    if (step.lines.length && !(all && all().querySelector(".nt-question"))) screens.push(...question(" again"));
    if (step.table) screens.push(...this.written(step, `${beat} table`));
    return [...screens, ...(plate ? this.plateScreens(plate).map(([band, draw, more]) => [`${beat} ${band}`, draw, { ...more, part: `Think, ${more.part}`, plays: plate.name }]) : [])];
  }

  materialScreens(step, beat) {
    const all = step.options.length ? step.options : step.lines;
    return this.sheetsOf(all, (list) => [this.material(step, list)]).map((list, n) => [`${beat} options ${n + 1}`, () => this.sheet(this.material(step, list))]);
  }

  // With the tally the options stand as long as there is room for them, then their letters alone.
  voted(step, beat) {
    const votes = this.kept.votes[step.name] ?? {}, place = (option) => step.options.indexOf(option), list = beat === "second" ? votes.second : votes.first;
    // While they talk and raise their hands again, nobody sees what the others thought.
    const covered = beat === "hold" || (beat === "second" && !list), later = beat === "second" || beat === "answer";
    const how = (option, both = true) => ({ counts: covered ? [] : [both || !votes.second ? votes.first?.[place(option)] : undefined, later ? votes.second?.[place(option)] : undefined],
      right: beat === "answer" && this.isRight(step, option) });
    const sum = (list ?? []).reduce((all, count) => all + (count || 0), 0);
    const told = beat === "hold" ? "Talk with your neighbour: why is it so?" : sum ? `${sum}${this.kept.size ? ` of ${this.kept.size}` : ""} votes` : "Hands up.";
    const head = beat === "answer" ? [] : [this.tag("p", { class: "nt-count" }, told)];
    const all = beat === "answer" ? null : this.together(step, () => this.options(step, step.options, how), { head });
    if (all) return all();
    const whole = [...head, this.options(step, step.options, how)];
    if (this.fits(...whole.map((each) => each.cloneNode(true)))) return this.sheet(...whole);
    // Where words need the room the first counts go, then bars beside words; the right one keeps its words to the last.
    const letters = (both, words) => {
      const made = this.options(step, step.options, (option) => how(option, both));
      made.classList.add(words === "all" ? "nt-beside" : "nt-letters");
      if (words === "right") for (const row of made.querySelectorAll(".nt-right")) row.classList.add("nt-worded");
      return made;
    };
    const tries = [[true, "all"], [false, "all"], ...(beat === "answer" ? [[true, "right"], [false, "right"]] : [])];
    for (const [both, words] of tries) if (this.fits(...head.map((each) => each.cloneNode(true)), letters(both, words))) return this.sheet(...head, letters(both, words));
    return this.sheet(...head, letters(true, ""));
  }

  isRight(step, option) { return step.right.split(" or ").includes(option.label); }

  answerScreens(step) {
    if (step.lines.length) return this.lineScreens(step);
    if (step.asked === "choice") {
      return [["answer", () => this.voted(step, "answer")]];
    }
    const right = step.asked === "order"
      ? step.right.split("").map((letter) => step.options.find((option) => option.label === letter)).filter(Boolean) : [];
    if (right.length) {
      const ordered = { ...step, options: right };
      return this.sheetsOf(right, (list) => [this.options(ordered, list)]).map((list, n) => [`answer ${n + 1}`, () => this.sheet(this.options(ordered, list))]);
    }
    return [
      ["blank", () => this.sheet(this.tag("div", { class: "nt-word" }, this.tag("p", {}, this.marked(step.given)), "_____"))],
      ["answer", () => this.sheet(this.tag("div", { class: "nt-word" }, this.tag("p", {}, this.marked(step.given)), step.right))],
    ];
  }

  // One line after the other is uncovered; what does not fit on a screen stands on the next.
  lineScreens(step) {
    const row = (line, shown) => this.lineRow(line, shown);
    return this.sheetsOf(step.lines, (list) => list.map((each) => row(each, true))).flatMap((list, n) => [0, ...list.map((_, at) => at + 1)].map((shown) =>
      [`answer ${n + 1} ${shown}`, () => this.sheet(...list.map((line, at) => row(line, at < shown)))]));
  }

  lineRow(line, shown) {
    return this.tag("div", { class: "nt-line" }, this.tag("span", {}, this.marked(line.label)), this.tag("span", { class: "nt-blank" }, shown ? line.right : "_____"));
  }

  wrongScreens(step) {
    if (step.asked === "choice") return [];
    const rows = step.wrong.map((wrong, n) => ({ label: "ABCDEF"[n], right: wrong.answer }));
    const inside = () => [this.tag("p", { class: "nt-count" }, "Usual wrong answers. How does one come to them?"), this.options({ name: "", options: rows }, rows)];
    const fit = [];
    for (const row of rows) if (this.fits(this.tag("p", { class: "nt-count" }, "x"), this.options({ name: "", options: rows }, [...fit, row]))) fit.push(row); else break;
    rows.length = fit.length;
    return rows.length ? [["wrong", () => this.sheet(...inside())]] : [];
  }

  // The sentence of a wrong answer, on demand: in the place of the options, so that it is as large as they.
  explain(letter) {
    const { step, beat } = this.screens[this.at];
    if (!step?.wrong.length) return;
    if (!(beat === "answer" || beat === "wrong")) { if (step.asked === "choice") this.note(`What is wrong with ${letter} comes with the answer.`); return; }
    const found = step.asked === "choice" ? step.wrong.find((wrong) => wrong.answer === letter) : beat === "wrong" ? step.wrong["ABCDEF".indexOf(letter)] : null;
    if (!found) return;
    if (this.explained === letter) { this.redraw(); return; }
    this.explained = letter;
    const option = step.options.find((each) => each.label === letter);
    const head = step.asked === "choice" && option && option.right !== letter ? `${letter}  ${option.right}` : found.answer;
    this.put(this.sheet(this.tag("p", { class: "nt-given" }, this.marked(head)), this.tag("p", { class: "nt-said" }, this.marked(found.says))));
  }

  // What is not on the wall and is thought about, one after the other: the picture, the question; then back.
  view(step) {
    this.aside ??= [!this.body.querySelector(".nt-still") && step.picture && (() => this.still(step)), !this.body.querySelector(".nt-question") && (() => this.sheet(...this.asked(step)))].filter(Boolean);
    const next = this.aside.shift(), left = this.aside;
    this.redraw();
    if (!next) return;
    this.put(next());
    this.aside = left;
  }

  // ---------------------------------------------------------------- pictures
  still(step) { return this.sheet(this.image(step)); }

  // One image a step and size, asked for once; looking ahead must not take it off the wall.
  image(step, times = 0) {
    const key = `${step.name} ${times}`;
    let image = this.stills.get(key);
    if (!image) {
      const query = new URLSearchParams({ lesson: this.key, step: step.name, times });
      image = this.tag("img", { class: "nt-still", alt: step.title, src: this.lab.address(`needlework/class/picture?${query}`) });
      this.stills.set(key, image);
    }
    return image;
  }

  async fetchAhead() {
    for (const step of this.deck.steps) if (step.kind === "what-if" && !this.gone) await this.film(step.what_if, step.setting);
    for (const step of this.steps) if (step.kind === "fault" && !this.gone) await this.film(this.filmName(step, "replay"), {});
    for (const step of this.steps) {
      if (step.kind !== "flight" || this.gone) continue;
      await this.flying(step);
      for (const beat of ["replay", "beside"]) await this.film(this.filmName(step, beat), this.filmSetting(step, beat)).then((film) => this.frame(film, beat === "beside" ? film.last : 0));
    }
    const period = this.deck.periods.find((each) => each.name === this.kept.period)?.steps ?? [];
    const first = (step) => (period.includes(step.name) ? 0 : 1);
    for (const step of [...this.deck.steps].sort((a, b) => first(a) - first(b))) {
      if (this.gone) return;
      if (step.picture || step.kind === "picture") await this.image(step).decode().catch(() => {});
      if (step.picture && this.besides(step)) await this.image(step, this.besides(step)).decode().catch(() => {});
      if (step.kind === "what-if") { const film = await this.film(step.what_if, step.setting); await this.frame(film, film.last); }
    }
  }

  // ---------------------------------------------------------------- what-ifs
  filmKey(name, setting) { return JSON.stringify([name, setting]); }

  // A film that has come; one still on its way is none yet.
  there(film) { return film && !film.then ? film : undefined; }

  knownFilm(name, setting) { return this.there(this.films.get(this.filmKey(name, setting))); }

  async film(name, setting) {
    const key = this.filmKey(name, setting);
    const known = this.films.get(key);
    if (known) return known;
    const asked = this.ask("film", { lesson: this.key, name, setting, count: 1 }).then((said) => {
      const film = this.made(name, setting, said);
      this.films.set(key, film);
      return film;
    });
    this.films.set(key, asked);
    return asked;
  }

  made(name, setting, said) {
    const film = { name, setting, frames: new Map(), asked: new Map(), rows: said.rows, low: said.low, high: said.high, step: said.step, rate: said.rate, knobs: said.knobs,
      events: said.events ?? [], told: said.told ?? {}, last: Math.round((said.high - said.low) / said.step), edition: 0 };
    film.whole = film.last;
    this.take(film, said);
    return film;
  }

  take(film, said) {
    let before = {};
    said.at.forEach((at, n) => {
      before = { ...before, ...said.faces[n] };
      film.frames.set(Math.round((at - film.low) / film.step), { at, faces: before, sentence: said.sentences[n], standing: said.standing?.[n] });
    });
    if (film.live) { film.ended = said.ends ?? null; film.last = film.ended ?? film.whole; }
  }

  // Some moments from one on; what is there already is not asked for again.
  async frame(film, n) {
    const place = Math.max(0, Math.min(film.last, n));
    if (film.frames.has(place)) return film.frames.get(place);
    if (film.live) return this.flownOn(film, place);
    const chunk = Math.floor(place / AHEAD);
    if (!film.asked.has(chunk)) {
      const of = { lesson: this.key, name: film.name, setting: film.setting };
      film.asked.set(chunk, place === film.last
        ? this.ask("film", { ...of, begin: film.high, count: 1 }).then((said) => { this.take(film, said); film.asked.delete(chunk); })
        : this.ask("film", { ...of, begin: film.low + chunk * AHEAD * film.step, count: AHEAD }).then((said) => this.take(film, said)));
    }
    await film.asked.get(chunk);
    return film.frames.get(place) ?? this.frame(film, n);
  }

  // Of a flight that is being flown: what was worked out with other orders is thrown away when it comes.
  async flownOn(film, place) {
    let first = place;
    while (first > 0 && !film.frames.has(first - 1) && place - first < AHEAD) first--;
    const asked = film.asked.get(film.edition) ?? this.ask("film", { lesson: this.key, name: film.name, setting: { orders: film.orders }, begin: first * film.step, count: film.hurry ? 12 : AHEAD });
    const { edition } = film;
    film.asked.set(edition, asked);
    const said = await asked;
    if (film.asked.get(edition) === asked) film.asked.delete(edition);
    if (film.edition === edition) { film.hurry = false; this.take(film, said); }
    return film.frames.get(Math.min(place, film.last)) ?? this.frame(film, place);
  }

  // ---------------------------------------------------------------- flights
  filmName(step, beat) {
    if (step.what_if) return step.what_if;
    if (step.kind === "fault") return `fault/${step.name.match(/\d+$/)[0]}`;
    if (beat === "beside" && this.chosenFlight(step, beat).file === "wanted") return `alone/${step.name}`;
    return `${{ fly: "fly", replay: "alone", beside: "beside" }[beat]}/${step.name}`;
  }

  // Flights of a step that can be shown: the class's own, those recorded, the wanted one.
  shownFlights(step) {
    const own = this.kept.flown[step.name], list = own?.until >= FLOWN_S ? [{ file: "class", said: "flown by you" }] : [];
    return [...list, ...(this.deck.flights[step.name] ?? []), { file: "wanted", said: "the wanted flight" }];
  }

  chosenFlight(step, beat) {
    const all = this.shownFlights(step), list = this.notAlone(all, beat);
    return list.find((each) => each.file === this.showing?.[step.name]) ?? list[0];
  }

  // The wanted flight beside itself shows nothing.
  notAlone(all, beat) { return beat === "beside" && all.length > 1 ? all.filter((each) => each.file !== "wanted") : all; }

  filmSetting(step, beat, by = "clock") {
    if (step.kind !== "flight") return step.setting ?? {};
    const { file } = this.chosenFlight(step, beat), own = this.kept.flown[step.name];
    return { flight: file, ...(file === "class" ? { orders: own.orders, until: own.until } : {}), ...(beat === "beside" ? { by } : {}) };
  }

  // The one film of a flight that is being flown, with the orders so far.
  async flying(step) {
    const known = this.flights.get(step.name);
    if (known) return known;
    const orders = this.kept.flown[step.name]?.orders ?? [], name = this.filmName(step, "fly");
    const asked = this.ask("film", { lesson: this.key, name, setting: { orders }, count: 1 }).then((said) => {
      const film = this.made(name, {}, said);
      Object.assign(film, { live: true, orders });
      this.flights.set(step.name, film);
      return film;
    });
    this.flights.set(step.name, asked);
    return asked;
  }

  // True where a flight that is being flown has come to its end; nothing can be ordered or flown then.
  over({ film, n }) { return Boolean(film?.live) && n >= film.last && (film.ended !== null || n >= film.whole); }

  refused(now) {
    if (this.over(now)) this.note("The flight has ended. Backspace takes 15 seconds back, r begins anew, Page Down shows it again.");
    return this.over(now);
  }

  // An order is carried out now, or with the next moment where it flies.
  order(now, action) {
    if (this.refused(now)) return;
    const { film } = now, at = now.n + (now.playing ? 1 : 0);
    this.ordered(now, [...film.orders, [at * film.step, action]], at);
  }

  ordered(now, orders, from) {
    const { film } = now;
    film.orders = orders;
    film.edition++;
    film.hurry = true;
    film.last = film.whole;
    film.ended = null;
    for (const n of [...film.frames.keys()]) if (n >= from) film.frames.delete(n);
    this.keepFlight(now);
    if (!now.playing) this.stand(now, now.n);
  }

  keepFlight(now) {
    const { film, step } = now;
    this.kept.flown[step.name] = { ...this.kept.flown[step.name], orders: film.orders, until: now.n * film.step };
    this.keep();
  }

  // Fifteen seconds are taken back, and the orders given in them.
  takeBack(now) {
    this.stop();
    const { film } = now;
    now.n = Math.max(0, now.n - Math.round(BACK_S / film.step));
    const kept = film.orders.filter(([at]) => at <= now.n * film.step + 1e-6);
    this.ordered(now, kept, kept.length < film.orders.length ? now.n + 1 : film.whole + 1);
  }

  // What was flown before is kept beside what is flown now.
  anew(now) {
    this.stop();
    const flown = this.kept.flown[now.step.name] ?? {};
    if (flown.until >= FLOWN_S) this.kept.flown[now.step.name] = { before: [...(flown.before ?? []), { orders: flown.orders, until: flown.until }].slice(-OLD_FLIGHTS) };
    now.n = 0;
    this.ordered(now, [], 0);
  }

  // Another of the flights that there are.
  otherFlight(now) {
    const list = this.notAlone(this.shownFlights(now.step), now.kind), at = list.findIndex((each) => each.file === this.chosenFlight(now.step, now.kind).file);
    (this.showing ??= {})[now.step.name] = list[(at + 1) % list.length].file;
    this.redraw();
  }

  // To the next event, or the one before: the moment before it.
  skip(now, way) {
    this.stop();
    const places = now.film.events.map((at) => Math.max(0, at - 1));
    const to = way > 0 ? places.find((at) => at > now.n) ?? now.film.last : [...places].reverse().find((at) => at < now.n) ?? 0;
    this.stand(now, to);
  }

  whatIf(step, beat) {
    const board = this.tag("div", { class: "nt-board" }, this.tag("div", { class: "nt-stage" }), this.tag("p", { class: "nt-sentence" }));
    const kind = step.what_if ? "what-if" : beat, name = this.filmName(step, beat);
    const now = (this.moving = { step, kind, board, stage: board.firstChild, line: board.lastChild, parts: {}, knob: -1, setting: this.filmSetting(step, beat), n: 0, by: "clock",
      covered: new Set(beat === "shown" ? [] : COVERED[kind]), rate: 0, alone: 0 });
    const begin = (made) => {
      now.film = made;
      now.rate = made.rate;
      this.laid(now);
      this.stand(now, beat === "shown" || beat === "beside" ? made.last : made.live ? Math.round((this.kept.flown[step.name]?.until ?? 0) / made.step) : 0);
    };
    const flown = this.kept.flown[step.name]?.until ?? 0;
    if (kind === "replay" || kind === "beside") {
      if (step.kind === "flight" && flown && flown < FLOWN_S) this.note("Fly on a little first: Page Up. This is another flight.");
      else if (name.startsWith("alone/") && kind === "beside") this.note("Nothing was flown yet: this is the wanted flight alone.");
    }
    const film = kind === "fly" ? this.there(this.flights.get(step.name)) : this.knownFilm(name, now.setting);
    if (film) { now.film = film; now.rate = film.rate; queueMicrotask(() => begin(film)); }
    else (kind === "fly" ? this.flying(step) : this.film(name, now.setting)).then((made) => { if (this.moving === now) begin(made); });
    return this.sheet(board);
  }

  // The faces stand as in the notebook, as large as the room allows.
  laid(now) {
    // The head line speaks of the knob that this setting is about.
    now.knob = Math.max(0, now.film.knobs.findIndex((knob) => knob.name in now.setting));
    now.stage.replaceChildren();
    const { tag } = this, first = now.film.frames.values().next().value, sizes = { plan: [400, 400], profile: [640, 300], deviation: [300, 220], heading: [220, 220], dial: [180, 180], digits: [180, 84] };
    const natural = { plan: 400, profile: 646, deviation: 318, heading: 220, dial: 180, digits: now.kind === "what-if" ? 154 : 210 }, gap = 8;
    const measure = (entry, upright) => {
      if (!Array.isArray(entry)) { const kind = first.faces[entry].kind, [w, h] = sizes[kind]; return [natural[kind], (natural[kind] * h) / w]; }
      const inner = entry.map((each) => measure(each, !upright));
      return upright ? [Math.max(...inner.map((i) => i[0])), inner.reduce((sum, i) => sum + i[1] + gap / 2, 0)]
        : [inner.reduce((sum, i) => sum + i[0] + gap / 2, 0), Math.max(...inner.map((i) => i[1]))];
    };
    // A column too high for large type is parted: what comes after its third row stands beside it, one below the other.
    const rows = now.film.rows.flatMap((column) => (column.length > 4 ? [column.slice(0, 3), column.slice(3).flat().map((face) => [face])] : [column]));
    const columns = rows.map((column) => measure(column, true));
    const { wide, high } = this.stageRoom();
    const unit = Math.min(...columns.map(([, h]) => high / h), wide / columns.reduce((sum, [w]) => sum + w + gap, 0));
    const place = (parent, entry, upright) => {
      if (Array.isArray(entry)) { const made = tag("div", { class: upright ? "nt-column" : "nt-row" }); parent.append(made); for (const each of entry) place(made, each, !upright); return; }
      const { kind } = first.faces[entry], [w, h] = sizes[kind], width = natural[kind] * unit;
      const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      svg.setAttribute("class", `nw-face nw-face-${kind}`);
      const holder = tag("div", { class: "nt-face", "data-name": KINDS[kind] === "numbers" ? first.faces[entry].label ?? entry : KINDS[kind], "data-face": entry, style: `width:${width.toFixed(1)}px;height:${((width * h) / w).toFixed(1)}px;--k:${(w / width).toFixed(4)}` }, svg);
      parent.append(holder);
      now.parts[entry] = { holder, kind, w, h, width, draw: this.faces.FACES[kind](svg), shown: null };
    };
    for (const column of rows) place(now.stage, column, true);
  }

  // On a map: a name that the frame would cut, or that would run into another or over a fix, stands on the other side
  // of its fix, or a line lower or higher; one that could not be read there either is left out.
  labels(piece) {
    const texts = [...piece.holder.querySelectorAll("text")].filter((each) => each.textContent), [names, fixed] = [texts.filter((each) => each.closest("[clip-path]")), texts.filter((each) => !each.closest("[clip-path]"))];
    const said = names.map((each) => `${each.textContent}|${each.getAttribute("x")}|${each.getAttribute("y")}`).join() + piece.holder.style.width;
    if (piece.said === said) return;
    piece.said = said;
    const frame = piece.holder.getBoundingClientRect(), unit = frame.width / piece.w;
    for (const each of names) { each.removeAttribute("dx"); each.removeAttribute("dy"); each.classList.remove("nt-hidden"); }
    const place = (each) => { const { left, right, top, bottom } = each.getBoundingClientRect(), in_ = (bottom - top) * 0.14; return { left, right, top: top + in_, bottom: bottom - in_ }; };
    const taken = [...fixed, ...piece.holder.querySelectorAll(".nw-mark")].map(place);
    const common = (a, b) => Math.max(0, Math.min(a.right, b.right) - Math.max(a.left, b.left)) * Math.max(0, Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top));
    for (const each of names) {
      const at = place(each), line = (at.bottom - at.top) * 1.05, wide = at.right - at.left;
      if (wide <= 0) continue;
      const over = (each.getAttribute("text-anchor") === "end" ? 1 : -1) * (wide + 28 * unit);
      const open = NAME_PLACES.map(([aside, down]) => {
        const [x, y] = [aside * over, down * line];
        return { x, y, box: { left: at.left + x, right: at.right + x, top: at.top + y, bottom: at.bottom + y } };
      }).filter(({ box }) => box.left > frame.left + 2 && box.right < frame.right - 2 && box.top > frame.top && box.bottom < frame.bottom);
      const covers = ({ box }) => taken.reduce((sum, other) => sum + common(box, other), 0);
      const best = open.find((each) => !covers(each)) ?? open.sort((a, b) => covers(a) - covers(b))[0];
      if (!best || covers(best) > 0.1 * wide * (at.bottom - at.top)) { each.classList.add("nt-hidden"); continue; }
      if (best.x) each.setAttribute("dx", (best.x / unit).toFixed(1));
      if (best.y) each.setAttribute("dy", (best.y / unit).toFixed(1));
      taken.push(best.box);
    }
  }

  // A name or number that the edge of a profile would cut stands a little further in.
  inward(piece) {
    for (const each of piece.holder.querySelectorAll("text")) {
      each.removeAttribute("dx");
      const { x, width } = each.getBBox(), over = Math.min(0, piece.w - 4 - x - width), under = Math.max(0, 4 - x);
      if (width && (over || under)) each.setAttribute("dx", (under || over).toFixed(1));
    }
  }

  // In a window of digits: a unit that its reading has no room for is left out, a name too long stands closer, and a
  // reading too long stands on two lines in the place of its name.
  apart(now) {
    for (const piece of Object.values(now.parts)) {
      if (piece.kind === "plan") this.labels(piece);
      if (piece.kind === "profile") this.inward(piece);
      if (piece.kind === "deviation") {
        const name = piece.holder.querySelector("text");
        name.removeAttribute("textLength");
        if (name.getComputedTextLength() > NAME_ROOM) { name.setAttribute("textLength", NAME_ROOM); name.setAttribute("lengthAdjust", "spacingAndGlyphs"); }
      }
      if (piece.kind !== "digits") continue;
      const [label, reading, unit, ...lines] = piece.holder.querySelectorAll("text"), said = `${label.textContent}|${reading.textContent}|${piece.width}`;
      if (piece.said === said) continue;
      piece.said = said;
      lines.forEach((line) => line.remove());
      for (const each of [label, reading, unit]) each.classList.remove("nt-hidden");
      label.removeAttribute("textLength");
      const room = piece.w - 28;
      if (label.getComputedTextLength() > room) { label.setAttribute("textLength", room); label.setAttribute("lengthAdjust", "spacingAndGlyphs"); }
      if (reading.getComputedTextLength() > room) {
        const words = reading.textContent.split(" "), half = Math.ceil(words.length / 2);
        for (const each of [label, reading, unit]) each.classList.add("nt-hidden");
        [words.slice(0, half), words.slice(half)].forEach((part, n) => {
          const line = document.createElementNS("http://www.w3.org/2000/svg", "text");
          line.setAttribute("class", "nw-digits nw-phrase");
          line.setAttribute("x", 10);
          line.setAttribute("y", n ? 72 : 36);
          line.textContent = part.join(" ");
          piece.holder.firstChild.append(line);
          if (line.getComputedTextLength() > room) { line.setAttribute("textLength", room); line.setAttribute("lengthAdjust", "spacingAndGlyphs"); }
        });
        continue;
      }
      const end = reading.getBoundingClientRect().right;
      unit.classList.toggle("nt-hidden", end + 4 > unit.getBoundingClientRect().left);
    }
  }

  // What the instruments have of the wall, between its edges and above the words.
  stageRoom() {
    const { width, height } = this.body.getBoundingClientRect(), zoom = this.zoom();
    return { wide: width / zoom - EDGES[0], high: height / zoom - EDGES[1] - WORDS_HIGH };
  }

  zoom() { return Number(getComputedStyle(this.node).zoom) || 1; }

  paint(now, from, to, part) {
    for (const [name, piece] of Object.entries(now.parts)) {
      const target = to.faces[name];
      if (piece.shown === target && part >= 1) continue;
      piece.draw(this.faces.between(from?.faces[name], target, part));
      piece.shown = part >= 1 ? target : null;
    }
    now.painted = true;
    now.sentence = to.sentence;
    now.standing = to.standing;
    if (now.board.isConnected) this.apart(now);
    this.covers(now);
  }

  // Words that would take more than two lines lose clauses at their beginning: what matters of them stands at the end.
  shorter(line, words) {
    const parts = words.split(/(?<=[.;:]) /);
    line.textContent = words;
    while (parts.length > 1 && line.scrollHeight > line.clientHeight + 2) { parts.shift(); line.textContent = parts.join(" "); }
  }

  covers(now) {
    for (const piece of Object.values(now.parts)) {
      piece.holder.classList.toggle("nt-covered", now.covered.has(KINDS[piece.kind]));
    }
    const hidden = now.covered.has("sentence"), line = hidden ? "" : now.sentence ?? "";
    now.line.classList.toggle("nt-covered", hidden);
    if (now.said !== line) { now.said = line; this.shorter(now.line, line); }
    now.board.classList.toggle("nt-future", now.covered.has("future"));
    this.headed();
  }

  async stand(now, n) {
    now.n = n;
    const film = now.film, there = film.frames.get(n);
    if (!there) this.wait("Getting ready …");
    const frame = there ?? (await this.frame(film, n));
    if (!there && !this.away) this.wait("");
    if (this.moving !== now || now.film !== film || now.n !== n) return;
    this.paint(now, null, frame, 1);
  }

  // The clock is the browser's: after a second the flight has gone on by as many seconds as the head line says.
  play(now, until = "") {
    if (now.playing) { this.stop(); return; }
    if (this.refused(now)) return;
    if (now.n >= now.film.last && !now.film.live) now.n = 0;
    const { film } = now, event = until === "event" ? film.events.find((each) => each > now.n + 1) : undefined;
    let at = now.n, last = performance.now(), busy = false;
    now.asks = false;
    const step = (time) => {
      if (this.moving !== now || !now.playing) return;
      now.playing = requestAnimationFrame(step);
      if (busy) { last = time; return; }
      const next = Math.min(film.last, at + (now.rate * Math.min(time - last, AWAY_MS)) / 1000 / film.step);
      last = time;
      const low = Math.floor(next), from = film.frames.get(low), to = film.frames.get(Math.min(film.last, low + 1));
      if (!from || !to) {
        busy = true;
        const slow = setTimeout(() => this.wait("Getting ready …"), SLOW_MS);
        this.frame(film, low).then(() => this.frame(film, low + 1)).then(() => { busy = false; clearTimeout(slow); if (!this.away) this.wait(""); });
        return;
      }
      let seen = low;
      while (film.frames.has(seen) && seen < low + AHEAD / 2) seen++;
      if (seen < low + AHEAD / 2 && seen < film.last) this.frame(film, seen);
      if (event !== undefined && next >= event - 1) { this.stop(); now.asks = true; this.stand(now, event - 1); return; }
      if (until === "needle" && Math.floor(at) < low) {
        const was = film.frames.get(Math.floor(at));
        if (was && this.centred(was, from)) { this.stop(); this.stand(now, Math.floor(at)); return; }
      }
      at = next;
      now.n = low;
      const jumps = this.centred(from, to);
      this.paint(now, from, jumps ? from : to, jumps ? 1 : next - low);
      if (next >= film.last || (!film.live && this.atRest(from, to))) { now.n = low; this.stop(); }
    };
    now.playing = requestAnimationFrame(step);
    this.headed();
  }

  // A needle has come to the middle: it changes sides, or the selector has gone on to the next line.
  centred(before, after) {
    return Object.keys(after.faces).some((name) => {
      const [a, b] = [before.faces[name], after.faces[name]];
      if (b.kind !== "deviation") return false;
      if (!a) return false;
      return a.course_deg !== b.course_deg || (a.deviation_dots * b.deviation_dots < 0 && Math.abs(a.deviation_dots - b.deviation_dots) < 3);
    });
  }

  // Nothing flies any more: only the clock would run on.
  atRest(from, to) {
    return Object.keys(to.faces).every((name) => {
      const [a, b] = [from.faces[name], to.faces[name]];
      return b.aircraft_east_nm === undefined ? b.kind !== "profile" || a.aircraft_dist_nm === b.aircraft_dist_nm
        : a.aircraft_east_nm === b.aircraft_east_nm && a.aircraft_north_nm === b.aircraft_north_nm;
    });
  }

  stop() {
    if (this.moving?.playing) cancelAnimationFrame(this.moving.playing);
    if (this.moving) {
      const flew = this.moving.playing;
      this.moving.playing = 0;
      if (flew && this.moving.film.live) this.keepFlight(this.moving);
    }
    if (!this.gone) this.headed();
  }

  // A notch of the chosen knob: the picture is greyed until it is that of the new setting.
  async turn(now, way) {
    const knob = now.film.knobs[now.knob], value = knob[way];
    if (now.film.live) { this.order(now, value); return; }
    if (value === knob.value) return;
    this.stop();
    now.setting = { ...now.setting, [knob.name]: value };
    const wanted = now.setting;
    now.stage.classList.add("nt-grey");
    const film = await this.film(now.step.what_if, wanted);
    const frame = await this.frame(film, now.n);
    if (this.moving !== now || now.setting !== wanted) return;
    now.film = film;
    now.stage.classList.remove("nt-grey");
    this.paint(now, null, frame, 1);
  }

  reset(now) {
    this.stop();
    now.setting = now.step.setting;
    now.covered = new Set(COVERED[now.kind]);
    this.film(now.step.what_if, now.setting).then((film) => { if (this.moving === now) { now.film = film; now.rate = film.rate; this.stand(now, 0); } });
  }

  // One instrument to the full height of the room, the others away.
  alone(now, which) {
    const names = Object.keys(now.parts), name = which ? names[Math.min(names.length, which) - 1] : "";
    now.alone = which;
    now.stage.classList.toggle("nt-one", Boolean(name));
    const { wide, high } = this.stageRoom();
    for (const [each, piece] of Object.entries(now.parts)) {
      const large = each === name, width = large ? Math.min(wide, (high * piece.w) / piece.h) : piece.width;
      piece.holder.classList.toggle("nt-out", Boolean(name) && !large);
      Object.assign(piece.holder.style, { width: `${width.toFixed(1)}px`, height: `${((width * piece.h) / piece.w).toFixed(1)}px` });
      piece.holder.style.setProperty("--k", (piece.w / width).toFixed(4));
    }
  }

  // ---------------------------------------------------------------- what stands on the wall now
  go(at, quiet = false) {
    this.stop();
    this.hush();
    this.moving = null;
    this.typed = "";
    this.explained = "";
    this.aside = null;
    const { step: before, beat } = this.screens[this.at] ?? {};
    this.at = Math.max(0, Math.min(this.screens.length - 1, at));
    const screen = this.screens[this.at];
    if (screen.step !== before) this.pen = "";
    this.note("");
    this.put(screen.draw());
    if (this.away) this.body.append(this.waiting); else this.wait("");
    // On the second screen of a beat its time runs on.
    if (!quiet && !(before && screen.step === before && screen.beat === beat)) this.timed(screen.beat === "think" ? screen.step.think_s : SECONDS[screen.beat] ?? 0);
    this.headed();
    this.footed();
    this.kept.place = screen.id;
    this.keep();
    this.node.dataset.screen = screen.id;
    this.sheeted(false);
    this.inked();
  }

  // True once everything that belongs to this screen is on the wall.
  whole() {
    const image = this.body.querySelector(".nt-still");
    if (this.waiting || (image && !image.complete)) return false;
    const told = this.screens[this.at]?.step?.kind === "fault" && !this.moving;
    if (told) return this.body.querySelector(".nt-sheet").childElementCount > 0;
    return !this.moving || Boolean(this.moving.painted);
  }

  redraw() {
    this.explained = "";
    this.aside = null;
    this.stop();
    this.moving = null;
    this.put(this.screens[this.at].draw());
  }

  // ---------------------------------------------------------------- drawing on the picture
  // One drawing a screen, and one on the white sheet; both stay till the next class.
  inkKey() { return this.white ? "white sheet" : this.screens[this.at].id; }

  inked() {
    const strokes = this.kept.drawn[this.inkKey()] ?? [];
    if (!strokes.length && !this.pen) { this.ink?.remove(); this.ink = null; return; }
    if (!this.ink) {
      this.ink = document.createElementNS("http://www.w3.org/2000/svg", "svg");
      this.ink.setAttribute("class", "nt-ink");
      this.ink.setAttribute("viewBox", "0 0 1000 1000");
      this.ink.setAttribute("preserveAspectRatio", "none");
      this.ink.addEventListener("pointerdown", (event) => this.stroke(event));
      this.node.append(this.ink);
    }
    this.ink.classList.toggle("nt-pen", Boolean(this.pen));
    this.ink.replaceChildren(...strokes.map((each) => this.line(each)));
  }

  line({ dashed, points }) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", "polyline");
    made.setAttribute("class", dashed ? "nt-dashed" : "");
    made.setAttribute("points", points.map(([x, y]) => `${(1000 * x).toFixed(1)},${(1000 * y).toFixed(1)}`).join(" "));
    return made;
  }

  stroke(event) {
    if (!this.pen) return;
    const room = this.ink.getBoundingClientRect(), key = this.inkKey();
    const point = (at) => [(at.clientX - room.left) / room.width, (at.clientY - room.top) / room.height].map((each) => Math.round(each * 1e4) / 1e4);
    const all = (this.kept.drawn[key] ??= []), made = { dashed: this.pen === "dashed", points: [point(event)] };
    if (all.reduce((sum, each) => sum + each.points.length, 0) > MOST_POINTS) return;
    all.push(made);
    let line = this.line(made);
    this.ink.append(line);
    const moved = (at) => {
      const [x, y] = point(at), [a, b] = made.points.at(-1);
      if (Math.hypot(x - a, y - b) < INK_STEP) return;
      made.points.push([x, y]);
      const next = this.line(made);
      line.replaceWith(next);
      line = next;
    };
    const up = () => {
      window.removeEventListener("pointermove", moved);
      window.removeEventListener("pointerup", up);
      this.keep();
    };
    window.addEventListener("pointermove", moved);
    window.addEventListener("pointerup", up);
  }

  drawing(pen) {
    this.pen = pen;
    this.inked();
    this.footed();
  }

  wipe() {
    delete this.kept.drawn[this.inkKey()];
    this.keep();
    this.inked();
  }

  // A sheet to sketch on: a station in the middle, a ring round it, north up; nothing else.
  sheeted(on) {
    this.white?.remove();
    this.white = null;
    if (!on) return;
    this.white = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    this.white.setAttribute("class", "nt-white");
    this.white.setAttribute("viewBox", "-800 -400 1600 800");
    this.white.innerHTML = '<circle r="300" class="nt-dashed"/><circle r="16"/><path d="M-4 0H4M0 -330V-380M-12 -362L0 -380L12 -362"/>';
    this.node.append(this.white);
  }

  ringed() {
    if (this.ring) { this.ring.remove(); this.ring = null; return; }
    this.node.append((this.ring = this.tag("div", { class: "nt-ring" })));
    this.ringAt();
  }

  // Where the pointer was last; in the middle until it has moved.
  ringAt() {
    if (!this.ring) return;
    const [x, y] = this.pointer ?? [window.innerWidth / 2, window.innerHeight / 2], zoom = this.zoom();
    Object.assign(this.ring.style, { left: `${x / zoom}px`, top: `${y / zoom}px` });
  }

  put(sheet) {
    this.body.replaceChildren(sheet);
    this.grown(sheet);
  }

  headed() {
    const screen = this.screens?.[this.at];
    if (!screen) return;
    const now = this.moving;
    let words = screen.step ? screen.step.title : this.deck.title;
    if (screen.step && (screen.part || CALLED[screen.beat])) words = `${screen.part || CALLED[screen.beat]}: ${words}`;
    if (now?.film && now.kind !== "what-if") {
      const knob = now.film.knobs[now.knob], flown = Math.round(now.film.low + now.n * now.film.step);
      const time = `${Math.floor(flown / 60)}:${String(flown % 60).padStart(2, "0")}`, rate = now.playing ? `×${now.rate}` : "";
      const which = screen.step.kind === "flight" && now.kind !== "fly" ? this.chosenFlight(screen.step, now.kind).said : "";
      const by = now.kind === "beside" && now.by === "place" ? "by place" : "";
      words = this.over(now) ? `Flight ended, ${time}. r: anew` : now.asks ? `What now? ${time}` : [knob ? `${knob.label} ${now.standing?.[now.knob] ?? ""}` : screen.step.kind === "fault" ? screen.step.title : which, by, time, rate].filter(Boolean).join(", ");
    } else if (now?.film) {
      const knob = now.film.knobs[now.knob] ?? now.film.knobs[0], rate = now.playing ? `, ×${now.rate}` : "";
      words = `${knob.label} ${knob.said}${rate}`;
      const named = now.setting === now.step.setting ? `${now.step.title}: ${words}` : words;
      this.name.textContent = named;
      if (this.name.scrollWidth <= this.name.clientWidth) words = named;
    }
    this.name.textContent = words;
    this.count.textContent = screen.step ? `${screen.number} / ${this.steps.length}` : "";
  }

  footed() {
    this.foot.textContent = this.pen ? `${this.pen === "dashed" ? "dashes" : "pen"}, d: end` : this.screens?.[this.at]?.step ? "" : "? keys";
  }

  titled(period) {
    return this.sheet(this.tag("div", { class: "nt-word" }, this.deck.title, this.tag("p", {}, period ? period.name : "")));
  }

  // Before the class: which period, and from where.
  choose() {
    this.choosing = true;
    const own = { own: true, name: "", said: "A period of your own …" };
    const list = [...this.deck.periods.map((each) => ({ ...each, said: each.name, beside: `${Math.round(each.minutes)} min` })), { name: "", said: "The whole lesson" }, own];
    // Where the class stopped it goes on; a period chosen by its name begins at its first step.
    const [stopped] = this.kept.place.split(/:(?=[^:]*$)/), begun = list.find((each) => each.name === this.kept.period && each !== own);
    const steps = begun?.steps ?? this.deck.steps.filter((step) => step.kind !== "paper").map((step) => step.name), at = steps.indexOf(stopped);
    if (begun && at >= 0) list.unshift({ ...begun, own: false, goesOn: true, said: `Go on at step ${at + 1} of ${steps.length}`, beside: "" });
    this.chosen = 0;
    const draw = () => {
      this.pointed(list, this.chosen);
      this.name.textContent = this.deck.title;
      this.foot.textContent = list[this.chosen].own && list[this.chosen].name ? "→ change it" : "↑ ↓, Page Down";
    };
    this.pick = (key) => {
      const at = list[this.chosen];
      if (key === "ArrowDown" || key === "ArrowUp") { this.chosen = Math.max(0, Math.min(list.length - 1, this.chosen + (key === "ArrowDown" ? 1 : -1))); draw(); return; }
      if (key === "ArrowRight") { if (at.own) this.compose(at.name); return; }
      if (key !== "PageDown" && key !== "Enter" && key !== "F5") return;
      if (at === own) { this.compose(""); return; }
      this.begin(at.name, !at.goesOn);
    };
    // From a lesson that is open the class begins where it stands.
    if (this.from) {
      const step = this.deck.steps.find((each) => each.name === this.from || each.title === this.from);
      const period = step && this.deck.periods.find((each) => each.steps.includes(step.name));
      if (period) { this.begin(period.name, true); this.go(this.screens.findIndex((screen) => screen.step === step)); return; }
    }
    this.node.dataset.class = "choose";
    draw();
  }

  begin(name, first) {
    this.choosing = false;
    this.kept.period = name;
    this.build();
    this.fetchAhead();
    this.go(first ? 0 : this.find(this.kept.place));
    this.node.dataset.class = "ready";
  }

  // A list with one line pointed at; as many of them as there is room for, and how many more there are.
  pointed(lines, at, above = "") {
    const room = above ? 7 : 8, first = Math.max(0, Math.min(at - 3, lines.length - room)), more = lines.length - first - room;
    const rows = lines.slice(first, first + room).map(({ said, beside = "" }, n) =>
      this.tag("li", { class: first + n === at ? "nt-pointed" : "" }, this.tag("span", {}, said), this.tag("span", {}, beside)));
    const left = [first > 0 && `↑ ${first} more`, more > 0 && `↓ ${more} more`].filter(Boolean).join("   ");
    this.body.replaceChildren(this.sheet(...(above ? [this.tag("p", { class: "nt-count" }, above)] : []), this.tag("ul", { class: "nt-list" }, ...rows),
      ...(left ? [this.tag("p", { class: "nt-more" }, left)] : [])));
  }

  // A period of the teacher's own: steps are ticked in a list and put in order; the minutes add up.
  compose(name) {
    const known = this.deck.own.find((each) => each.name === name), byName = new Map(this.deck.steps.map((step) => [step.name, step]));
    const taken = (known?.steps ?? []).filter((step) => byName.has(step));
    let order = [...taken, ...this.deck.steps.map((step) => step.name).filter((step) => !taken.includes(step))], at = 0;
    const ticked = new Set(taken);
    const draw = () => {
      const minutes = Math.round(order.filter((each) => ticked.has(each)).reduce((sum, each) => sum + byName.get(each).minutes, 0));
      this.pointed(order.map((each) => byName.get(each)).map((step) => ({ said: `${ticked.has(step.name) ? "☑" : "☐"} ${step.title}`, beside: `${SAID[step.kind] ?? step.kind}, ${Math.round(step.minutes)} min` })), at, `${minutes} of ${PERIOD_MIN} minutes, ${ticked.size} steps`);
      this.name.textContent = "Space ticks, Shift ↑ ↓ moves, Page Down begins";
    };
    this.node.dataset.class = "compose";
    this.foot.textContent = "";
    this.pick = (key, shift) => {
      const way = key === "ArrowDown" ? 1 : key === "ArrowUp" ? -1 : 0, to = Math.max(0, Math.min(order.length - 1, at + way));
      if (way) { if (shift) [order[at], order[to]] = [order[to], order[at]]; at = to; draw(); return; }
      if (key === " ") { if (!ticked.delete(order[at])) ticked.add(order[at]); draw(); return; }
      if (key === "PageUp" || key === "ArrowLeft") { this.choose(); return; }
      if (key !== "PageDown" && key !== "Enter" && key !== "F5") return;
      const steps = order.filter((each) => ticked.has(each));
      if (!steps.length) { this.choose(); return; }
      const names = new Set(this.deck.periods.map((each) => each.name));
      let free = 1;
      while (names.has(`Our period ${free}`)) free++;
      const made = { name: name || `Our period ${free}`, steps };
      this.deck.own = name ? this.deck.own.map((each) => (each.name === name ? made : each)) : [...this.deck.own, made];
      this.lab.server("needlework/class/periods", { lesson: this.key, periods: this.deck.own });
      this.periods();
      this.begin(made.name, true);
    };
    draw();
  }

  // ---------------------------------------------------------------- timer
  timed(seconds) {
    clearInterval(this.ticking);
    this.time.textContent = "";
    this.time.classList.remove("nt-last");
    if (!seconds) return;
    const until = performance.now() + 1000 * seconds;
    const show = () => {
      const left = Math.max(0, Math.ceil((until - performance.now()) / 1000));
      this.time.textContent = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
      this.time.classList.toggle("nt-last", left <= 10);
      if (!left) clearInterval(this.ticking);
    };
    this.ticking = setInterval(show, 250);
    show();
  }

  // ---------------------------------------------------------------- votes
  vote(counts) {
    const { step, beat } = this.screens[this.at];
    (this.kept.votes[step.name] ??= {})[beat === "vote" ? "first" : "second"] = step.options.map((_, n) => Math.min(999, counts[n] ?? 0));
    this.keep();
    this.redraw();
  }

  // ---------------------------------------------------------------- keys: none reaches anything else
  press(event) {
    event.stopImmediatePropagation();
    event.preventDefault();
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (!document.fullscreenElement && !this.triedFull && event.key !== "Escape") { this.triedFull = true; this.node.requestFullscreen?.().catch(() => {}); }
    const { key } = event;
    if (key === "Escape" && this.card) { this.help(false); return; }
    if (key === "Escape") { if (!event.repeat) this.leaving(); return; }
    if (!this.deck || !this.pick) return;
    this.note("");
    if (this.black) { if (key === "." || key === "b" || key === "PageDown" || key === "PageUp" || key === "F5") this.dark(); return; }
    if (this.card || key === "?") { this.help(key === "?"); return; }
    if (key === "." || key === "b") { this.dark(); return; }
    if (this.choosing) { this.pick(key, event.shiftKey); return; }
    if (key === "PageDown" || key === "PageUp") { this.go(this.at + (key === "PageDown" ? 1 : -1)); return; }
    if (key === "F5") return;
    if (this.typed || /^[gmsc]$/.test(key)) { this.type(key); return; }
    const screen = this.screens[this.at];
    if (screen.step?.asked === "choice" && /^\d$/.test(key)) {
      if (screen.beat === "vote" || screen.beat === "second") this.type(key);
      else if (screen.beat === "hold") this.note("Page Up: back to the first counts. Page Down: the class votes again.");
      else if (["ask", "picture", "think"].includes(screen.beat)) this.note("Votes come after Think: Page Down, then the counts.");
      return;
    }
    if (key === "d") { this.drawing(this.pen ? "" : "full"); return; }
    if (key === "h") { this.drawing("dashed"); return; }
    if (key === "x") { this.wipe(); return; }
    if (key === "p") { this.sheeted(!this.white); this.inked(); return; }
    if (key === "o") { this.ringed(); return; }
    if (event.shiftKey && /^[A-Z]$/.test(key)) { this.explain(key); return; }
    if (key === "v" && SEEN.includes(screen.beat) && screen.step?.kind === "question") { this.view(screen.step); return; }
    if (screen.heard !== undefined && key === "l") { this.listen(screen); return; }
    if (screen.heard !== undefined && key === "4") { this.body.querySelector(".nt-signs").classList.toggle("nt-covered"); return; }
    const now = this.moving;
    if (now?.film) this.moves(now, key, event.shiftKey);
  }

  // Keys of what flies.
  moves(now, key, shift) {
    const knobs = now.film.knobs.length, side = key === "ArrowLeft" ? -1 : key === "ArrowRight" ? 1 : 0;
    if (key === " ") this.play(now);
    else if (key === "n") { this.stop(); this.play(now, now.film.events.length ? "event" : "needle"); }
    else if (side && now.film.live) this.order(now, now.film.knobs[now.knob][shift ? (side < 0 ? "less" : "more") : (side < 0 ? "down" : "up")]);
    else if (side && knobs) this.turn(now, side < 0 ? "down" : "up");
    else if (side && shift) this.skip(now, side);
    else if (side) { this.stop(); now.asks = false; this.stand(now, Math.max(0, Math.min(now.film.last, now.n + side * Math.round(SKIP_S / now.film.step)))); }
    else if ((key === "ArrowUp" || key === "ArrowDown") && knobs) { now.knob = (now.knob + (key === "ArrowDown" ? 1 : knobs - 1)) % knobs; this.headed(); }
    else if (key === "+" || key === "-") { const at = RATES.indexOf(now.rate); now.rate = RATES[Math.max(0, Math.min(RATES.length - 1, (at < 0 ? 2 : at) + (key === "+" ? 1 : -1)))]; this.headed(); }
    else if (key === "Backspace" && now.film.live) this.takeBack(now);
    else if (key === "r" && now.film.live) this.anew(now);
    else if (key === "r" && now.kind === "what-if") this.reset(now);
    else if (key === "f" && now.step.kind === "flight" && now.kind !== "fly") this.otherFlight(now);
    else if (key === "t" && now.kind === "beside") this.byPlace(now);
    else if (key === "0") { now.covered.clear(); this.covers(now); }
    else {
      const cover = COVERS.find(([, digit]) => digit === key)?.[0];
      if (cover) { if (!now.covered.delete(cover)) now.covered.add(cover); this.covers(now); }
    }
  }

  // Two flights at the same time, or the wanted one at the place where the other is.
  async byPlace(now) {
    if (this.chosenFlight(now.step, now.kind).file === "wanted") return;
    this.stop();
    now.by = now.by === "place" ? "clock" : "place";
    now.setting = this.filmSetting(now.step, "beside", now.by);
    const wanted = now.setting, film = await this.film(this.filmName(now.step, "beside"), wanted);
    if (this.moving !== now || now.setting !== wanted) return;
    now.film = film;
    this.stand(now, now.n);
  }

  // What is typed before Enter: a step, a timer, the counts of a vote; after s one digit.
  type(key) {
    if (key === "s" && this.moving?.alone) { this.alone(this.moving, 0); return; }
    if (this.typed === "s") { this.typed = ""; this.footed(); if (this.moving?.film && /^[1-9]$/.test(key)) this.alone(this.moving, Number(key)); return; }
    if (key === "Backspace") this.typed = this.typed.slice(0, -1);
    else if (key === "Enter") { const said = this.typed; this.typed = ""; this.typedIn(said); return; }
    else if (/^[\d ]$/.test(key) || (!this.typed && /^[gmsc]$/.test(key))) this.typed += key;
    else this.typed = "";
    this.foot.textContent = { g: "to step ", m: "minutes ", s: "instrument ", c: "in the class " }[this.typed[0]]?.concat(this.typed.slice(1)) ?? this.typed;
  }

  typedIn(said) {
    const numbers = (said.match(/\d+/g) ?? []).map(Number);
    this.footed();
    if (said[0] === "g") { const at = this.screens.findIndex((screen) => screen.number === numbers[0] && screen.step); if (at >= 0) this.go(at); }
    else if (said[0] === "m") this.timed(60 * Math.min(99, numbers[0] ?? 0));
    else if (said[0] === "c") { this.kept.size = Math.min(99, numbers[0] ?? 0); this.keep(); this.rebuild(); }
    else if (numbers.length) this.counted(said, numbers);
  }

  // More hands than there are in the class, or more counts than there are letters, are taken only on a second Enter.
  counted(said, numbers) {
    const { step } = this.screens[this.at], sum = numbers.reduce((all, count) => all + count, 0), letters = step.options.length;
    const much = numbers.length > letters ? `${numbers.length} counts for ${letters} letters.`
      : this.kept.size && sum > this.kept.size ? `${sum} hands, ${this.kept.size} in the class.` : "";
    if (much && this.doubted !== said) {
      this.doubted = this.typed = said;
      this.foot.textContent = said;
      this.note(`${much} Enter again takes them.`);
      return;
    }
    this.doubted = "";
    this.vote(numbers);
  }

  dark() {
    if (this.black) { this.black.remove(); this.black = null; return; }
    this.stop();
    this.hush();
    this.node.append((this.black = this.tag("div", { class: "nt-black" })));
  }

  // First the keys of what is on the wall, then those of every screen; any other key takes the card away.
  help(more) {
    const shown = this.card?.dataset.keys;
    this.card?.remove();
    this.card = null;
    if (!more || shown === "every") return;
    const { beat, step, heard } = this.screens?.[this.at] ?? {}, now = this.choosing ? null : this.moving;
    const here = this.choosing ? [] : [heard !== undefined && "heard", ["vote", "second"].includes(beat) && "vote", SEEN.includes(beat) && step?.kind === "question" && "seen", (beat === "answer" || beat === "wrong") && step?.asked === "choice" && "answer", now?.film && "moves",
      now?.kind === "what-if" && "knobs", now?.kind, step?.kind === "flight" && now && now.kind !== "fly" && "flights", now?.kind === "beside" && "replay"].filter(Boolean);
    const own = shown ? [] : CARD.filter(([where]) => here.includes(where)), every = !own.length;
    const rows = (every ? CARD.filter(([where]) => !where) : own).flatMap(([, key, words]) => [this.tag("b", {}, key), this.tag("span", {}, words)]);
    const orders = !every && now?.film?.live ? [this.tag("p", {}, `To be ordered. ${now.film.knobs.map((knob) => knob.said).join("; ")}.`)] : [];
    this.card = this.tag("div", { class: "nt-card", "data-keys": every ? "every" : "here" }, this.tag("div", { class: "nt-keys" }, ...rows), ...orders,
      ...(every ? [] : [this.tag("p", {}, "? again: the keys of every screen")]));
    this.node.append(this.card);
  }
}
