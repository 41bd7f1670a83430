// The page on which the course begins: what is next, what is due, how far each lesson is. True for as long as it is open.

// The window of nbgrader for fetching homework, handing it in and reading what came back; only where a hub has it.
const HOMEWORK = "nbgrader:open-assignment-list";
const SURE_MS = 8000, TWICE_MS = 600;

const spoken = (day) => new Date(`${day}T12:00`).toLocaleDateString("en-GB", { weekday: "long", day: "numeric", month: "long" });

export class StartView {
  constructor(app, lab, { fields }, panel) {
    Object.assign(this, { app, lab, panel, tag: fields.tag, marked: fields.marked, puttingAway: new Set(), asking: new Map() });
    panel.addClass("nl-start");
    panel.toolbar.hide();
    lab.quiet(false);
    this.show();
    const again = () => this.show();
    app.shell.currentChanged?.connect(again);
    // A tab that is clicked comes to the front without the focus.
    new IntersectionObserver((seen) => { if (seen.some((each) => each.isIntersecting)) again(); }).observe(panel.node);
    document.addEventListener("visibilitychange", again);
    window.addEventListener("focus", again);
    panel.node.addEventListener("pointerdown", () => { this.pressed = true; });
    for (const end of ["pointerup", "pointercancel"]) window.addEventListener(end, () => {
      if (this.pressed) setTimeout(() => { this.pressed = false; this.show(); });
    });
  }

  async show() {
    // Of two questions at once the answer to the later one counts.
    const asked = (this.asked = (this.asked ?? 0) + 1), seen = await this.lab.server("needlework/overview");
    if (asked !== this.asked) return;
    if (!seen || this.panel.isDisposed) { if (!this.body) this.panel.removeClass("nl-start"); return; }
    const { tag } = this, text = JSON.stringify(seen);
    // A button that is another one by the time it is let go is not pressed: what is new is shown after it.
    if (text === this.text || this.pressed) return;
    this.text = text;
    if (!this.body) {
      this.body = tag("div", { class: "nl-page", "data-lm-suppress-shortcuts": "true" });
      this.panel.node.append(this.body);
    }
    const link = (path, words, name = "nl-link") => {
      const made = tag("button", { type: "button", class: name }, words);
      made.addEventListener("click", () => this.lab.open(path, "start.ipynb"));
      return made;
    };
    const page = tag("div", { class: "nl-sheet" }, tag("h1", {}, "Approaches by needle, DME and clock"));
    for (const line of seen.told) page.append(tag("p", { class: "nl-told" }, line));
    // What an instructor set comes first, apart from the course's own lesson of the same title.
    const set = seen.others.filter((each) => each.homework), others = seen.others.filter((each) => !each.homework);
    const fetches = this.app.commands.hasCommand(HOMEWORK);
    if (set.length) page.append(this.homework(set, link, fetches));
    page.append(this.following(seen.next), this.back(seen.today));
    if (seen.failed.length) page.append(this.failed(seen.failed));
    if (fetches && !set.length) page.append(this.homework([], link, fetches));
    if (others.length) page.append(this.others(others, link));
    this.taught = seen.taught;
    page.append(this.lessons(seen.lessons, seen, link), this.paper(), tag("p", { class: "nl-caution" }, this.marked(seen.caution)));
    this.body.replaceChildren(page);
    this.panel.node.dataset.start = "ready";
    // Asked for by the command that opened the course: once, not each time the page is read anew.
    if (seen.teach && !sessionStorage.getItem("needlework:taught")) {
      sessionStorage.setItem("needlework:taught", seen.teach);
      this.lab.teach(seen.teach, this.panel);
    }
  }

  at(path, key, words, name = "nl-link") {
    const made = this.tag("button", { type: "button", class: name }, words);
    made.addEventListener("click", () => this.lab.openAt(path, key, "start.ipynb"));
    return made;
  }

  following(next) {
    const { tag } = this;
    if (!next) return tag("section", { class: "nl-next" }, tag("h2", {}, "Next"), tag("p", {}, "Every question of every lesson is answered. Fly it again on another day."));
    const where = next.sittings > 1 ? `Sitting ${next.sitting} of ${next.sittings}` : "One sitting";
    const open = next.begun ? `You go on at question ${next.number} of ${next.questions}${next.wrong ? ": its answer is not right yet" : ""}.` : "";
    return tag("section", { class: "nl-next" },
      tag("h2", {}, next.begun ? "Go on with" : "Begin with"),
      tag("p", { class: "nl-big" }, next.title),
      tag("p", {}, `${where}, about ${next.minutes} minutes. ${open}`),
      next.begun ? this.at(next.path, next.key, "Go on", "nl-button nl-main") : this.at(next.path, "", "Begin", "nl-button nl-main"));
  }

  // What comes back today, with numbers not seen before.
  back(today) {
    const { tag } = this, made = tag("section", { class: "nl-back" }, tag("h2", {}, "Coming back"));
    if (!today.questions) {
      const day = today.next_day && spoken(today.next_day);
      made.append(tag("p", {}, day ? `Nothing today. The next questions come back on ${day}.` : "Nothing yet: what you have answered comes back here on other days, before it is forgotten."));
      return made;
    }
    const from = today.titles.length > 1 ? `${today.titles.slice(0, -1).join(", ")} and ${today.titles.at(-1)}` : today.titles[0];
    const more = today.waiting ? ` ${today.waiting} more ${today.waiting === 1 ? "waits" : "wait"}.` : "";
    const open = tag("button", { type: "button", class: "nl-button" }, today.path ? "Go on with these" : "Begin these");
    const said = tag("p", { role: "status" });
    open.addEventListener("click", async () => {
      open.disabled = true;
      const made = await this.lab.server("needlework/review", {});
      open.disabled = false;
      if (made?.path) this.lab.open(made.path, "start.ipynb");
      else said.textContent = made ? "Nothing is due any more." : "They could not be put together: is the course still running?";
      if (made) this.show();
    });
    made.append(
      tag("p", { class: "nl-big" }, `${today.minutes} ${today.minutes === 1 ? "minute" : "minutes"} today`),
      tag("p", {}, `${today.questions} ${today.questions === 1 ? "question" : "questions"} from ${from}, with numbers you have not seen.${more}`),
      open, said);
    return made;
  }

  // What was wrong last time leads to its place in its lesson.
  failed(failed) {
    const { tag } = this, rows = tag("ul", {});
    for (const each of failed) rows.append(tag("li", {}, this.at(each.path, each.key, each.title), ` in ${each.lesson}`));
    return tag("section", {}, tag("h2", {}, "Wrong last time"), rows);
  }

  paper() {
    const { tag } = this, rows = tag("ul", { class: "nl-paper" });
    for (const [name, words] of [["rules", "The rules of all lessons, on one page"], ["weak-spots", "My weak spots, with an exercise each"]]) {
      rows.append(tag("li", {}, tag("a", { class: "nl-link", href: this.lab.address(`needlework/print/${name}`), target: "_blank", rel: "noopener" }, words)));
    }
    return tag("section", {}, tag("h2", {}, "To print"), rows);
  }

  others(others, link) {
    const { tag } = this, rows = tag("ul", {});
    for (const each of others) rows.append(tag("li", {}, link(each.path, each.title), ` ${each.path}${each.kept ? `: another version of this lesson, kept on ${spoken(each.kept)}; the course keeps one when a lesson was changed in two places` : ""}`));
    return tag("section", {}, tag("h2", {}, "Also in your folder"), rows);
  }

  homework(set, link, fetches) {
    const { tag } = this, made = tag("section", { class: "nl-homework" }, tag("h2", {}, "Homework"));
    const rows = tag("ul", {});
    for (const each of set) rows.append(tag("li", {}, link(each.path, each.title), `${each.due ? `, due ${each.due}` : ""}; its file is ${each.path}`));
    if (set.length) made.append(rows);
    if (fetches) {
      const button = tag("button", { type: "button", class: "nl-button" }, "Fetch or hand in");
      button.addEventListener("click", () => { this.lab.quiet(true); this.app.commands.execute(HOMEWORK); });
      made.append(tag("p", {}, button));
    }
    return made;
  }

  // Asks once; then the last class's work, flights and votes are put away with their date, also when the lesson is open.
  // A double click is no answer, and while it is done there is nothing to press.
  nextClass(key, path) {
    const made = this.tag("button", { type: "button", class: "nl-button", title: "Put the last class's work, flights and votes away" }, "Next class");
    // The question outlives the button: the page may be read anew before it is answered.
    const since = () => performance.now() - (this.asking.get(key) ?? -SURE_MS), asks = () => since() < SURE_MS;
    const busy = () => { made.disabled = true; made.textContent = "Putting away …"; };
    const label = () => {
      if (made.disabled) return;
      made.textContent = asks() ? "Put the last class away?" : "Next class";
      if (asks()) setTimeout(label, SURE_MS - since() + 1);
    };
    label();
    if (this.puttingAway.has(key)) busy();
    made.addEventListener("click", async () => {
      if (!asks()) { this.asking.set(key, performance.now()); label(); return; }
      if (since() < TWICE_MS) return;
      this.asking.delete(key);
      this.puttingAway.add(key);
      busy();
      await this.lab.close(path);
      const said = await this.lab.server("needlework/class/next", { lesson: key }, true);
      this.puttingAway.delete(key);
      this.news = { key, words: said ? said.told ?? said.refused : "The last class could not be put away: is the course still running?" };
      this.text = "";
      await this.show();
      this.body.querySelector(".nl-lessons .nl-told")?.focus();
    });
    return made;
  }

  // The map of the course: every lesson and every sitting in order, with what is done, known and due.
  lessons(lessons, seen, link) {
    const { tag } = this, rows = tag("ol", { class: "nl-lessons" });
    for (const each of lessons) {
      const key = each.path.split("/")[0], ways = tag("span", { class: "nl-mark" }, each.state);
      if (this.taught.includes(key)) {
        const made = tag("button", { type: "button", class: "nl-button", title: "Before a class: full screen, one thing at a time" }, "Classroom");
        made.addEventListener("click", () => this.lab.teach(key, this.panel));
        ways.append(" ", made);
        if (seen.anew.includes(key) && seen.classes.includes(key)) ways.append(" ", this.nextClass(key, each.path));
      }
      const minutes = each.minutes_left ? `about ${each.minutes_left} minutes left` : "nothing left to do";
      const due = each.due ? `, ${each.due} due` : "";
      const small = tag("span", { class: "nl-small-print" }, `${each.passed} of ${each.questions} questions right, ${minutes}${due}`);
      if (each.task && each.state !== "task not yet judged") {
        small.append(" ", this.at(each.path, each.task, "Already sure? Go to the task", "nl-link nl-sure"));
      }
      // What became of the last class stands where it was asked for.
      const news = this.news?.key === key ? [tag("p", { class: "nl-told", role: "status", tabindex: "-1" }, this.news.words)] : [];
      rows.append(tag("li", {}, link(each.path, each.title, "nl-link nl-lesson-name"), ways, ...news, this.sittings(each), small));
    }
    const left = lessons.reduce((sum, each) => sum + each.minutes_left, 0);
    return tag("section", {}, tag("h2", {}, "The course"), rows, tag("p", { class: "nl-small-print" }, `About ${left} minutes left in all.`));
  }

  sittings(lesson) {
    const { tag } = this, parts = tag("ol", { class: "nl-parts", "aria-label": `Sittings of ${lesson.title}` });
    lesson.sittings.forEach((sitting, n) => {
      const whole = sitting.questions > 0 && sitting.settled === sitting.questions;
      const state = whole ? (lesson.state === "known" ? "known" : "done") : `${sitting.settled} of ${sitting.questions}`;
      const share = sitting.questions ? sitting.settled / sitting.questions : 0;
      const made = this.at(lesson.path, sitting.settled && !whole ? sitting.first : `#${n + 1}`, "", "nl-part-button");
      made.append(
        tag("span", { class: "nl-part-name" }, `Sitting ${n + 1}`), tag("span", {}, `${sitting.minutes} min`),
        tag("span", { class: "nl-bar", "aria-hidden": "true" }, tag("span", { style: `width:${Math.round(100 * share)}%` })),
        tag("span", {}, `${whole ? "✓ " : ""}${state}${sitting.due ? `, ${sitting.due} due` : ""}`));
      parts.append(tag("li", {}, made));
    });
    return parts;
  }
}
