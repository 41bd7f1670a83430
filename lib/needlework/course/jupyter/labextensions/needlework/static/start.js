// The page on which the course begins: what is next, what is due, how far each lesson is. True for as long as it is open.

// The window of nbgrader for fetching homework, handing it in and reading what came back; only where a hub has it.
const HOMEWORK = "nbgrader:open-assignment-list";

export class StartView {
  constructor(app, lab, { fields }, panel) {
    Object.assign(this, { app, lab, panel, tag: fields.tag, marked: fields.marked });
    panel.addClass("nl-start");
    panel.toolbar.hide();
    lab.quiet(false);
    this.show();
    // A page that has come into sight says so a moment later.
    const again = () => setTimeout(() => { if (panel.isVisible) this.show(); }, 100);
    app.shell.currentChanged?.connect(again);
    document.addEventListener("visibilitychange", again);
    window.addEventListener("focus", again);
  }

  async show() {
    const seen = await this.lab.server("needlework/overview");
    if (!seen || this.panel.isDisposed) { if (!this.body) this.panel.removeClass("nl-start"); return; }
    const { tag } = this, text = JSON.stringify(seen);
    if (text === this.text) return;
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
    for (const line of [...seen.told, ...(this.news ? [this.news] : [])]) page.append(tag("p", { class: "nl-told" }, line));
    page.append(this.following(seen.next, link));
    if (seen.due.length) page.append(this.due(seen.due, link));
    if (this.app.commands.hasCommand(HOMEWORK)) page.append(this.homework());
    if (seen.others.length) page.append(this.others(seen.others, link));
    this.taught = seen.taught;
    page.append(this.lessons(seen.lessons, seen, link), tag("p", { class: "nl-caution" }, this.marked(seen.caution)));
    this.body.replaceChildren(page);
    this.panel.node.dataset.start = "ready";
    // Asked for by the command that opened the course: once, not each time the page is read anew.
    if (seen.teach && !sessionStorage.getItem("needlework:taught")) {
      sessionStorage.setItem("needlework:taught", seen.teach);
      this.lab.teach(seen.teach, this.panel);
    }
  }

  following(next, link) {
    const { tag } = this;
    if (!next) return tag("section", { class: "nl-next" }, tag("h2", {}, "Next"), tag("p", {}, "Every question of every lesson is answered. Fly it again on another day."));
    const where = next.sittings > 1 ? `Sitting ${next.sitting} of ${next.sittings}` : "One sitting";
    const open = next.begun ? `The first question still open is number ${next.number} of ${next.questions}.` : "";
    return tag("section", { class: "nl-next" },
      tag("h2", {}, next.begun ? "Go on with" : "Begin with"),
      tag("p", { class: "nl-big" }, next.title),
      tag("p", {}, `${where}, about ${next.minutes} minutes. ${open}`),
      link(next.path, next.begun ? "Go on" : "Begin", "nl-button nl-main"));
  }

  due(due, link) {
    const { tag } = this, rows = tag("ul", {});
    for (const each of due) {
      const more = each.more ? ` and ${each.more} more` : "";
      rows.append(tag("li", {}, link(each.path, each.title), ` ${each.names.map((name) => `“${name}”`).join(", ")}${more}`));
    }
    return tag("section", {}, tag("h2", {}, "To look at again"), rows);
  }

  others(others, link) {
    const { tag } = this, rows = tag("ul", {});
    for (const each of others) rows.append(tag("li", {}, link(each.path, each.title), ` ${each.path}`));
    return tag("section", {}, tag("h2", {}, "Also in your folder"), rows);
  }

  homework() {
    const { tag } = this, made = tag("button", { type: "button", class: "nl-button" }, "Fetch or hand in");
    made.addEventListener("click", () => { this.lab.quiet(true); this.app.commands.execute(HOMEWORK); });
    return tag("section", {}, tag("h2", {}, "Homework"), tag("p", {}, made));
  }

  // Asks once; then the last class's work, flights and votes are put away with their date, also when the lesson is open.
  nextClass(key, path) {
    const made = this.tag("button", { type: "button", class: "nl-button", title: "Put the last class's work, flights and votes away" }, "Next class");
    let sure = false;
    made.addEventListener("click", async () => {
      if (!sure) {
        sure = true;
        made.textContent = "Put the last class away?";
        setTimeout(() => { sure = false; made.textContent = "Next class"; }, 5000);
        return;
      }
      made.disabled = true;
      await this.lab.close(path);
      const said = await this.lab.server("needlework/class/next", { lesson: key });
      this.news = said ? said.told : "The last class could not be put away: is the course still running?";
      this.text = "";
      await this.show();
    });
    return made;
  }

  lessons(lessons, seen, link) {
    const { tag } = this, rows = tag("ol", { class: "nl-lessons" });
    for (const each of lessons) {
      const parts = tag("span", { class: "nl-parts", "aria-hidden": "true" });
      for (const sitting of each.sittings) {
        const share = sitting.questions ? sitting.settled / sitting.questions : 0;
        const bar = tag("span", { class: "nl-bar" }, tag("span", { style: `width:${Math.round(100 * share)}%` }));
        parts.append(bar);
      }
      const done = each.sittings.filter((sitting) => sitting.questions && sitting.settled === sitting.questions).length;
      const minutes = each.minutes_left ? `about ${each.minutes_left} minutes left` : "nothing left to do";
      const of = each.sittings.length > 1 ? `${done} of ${each.sittings.length} sittings done, ` : "";
      const key = each.path.split("/")[0], ways = tag("span", { class: "nl-mark" }, each.state);
      if (this.taught.includes(key)) {
        const made = tag("button", { type: "button", class: "nl-button", title: "Before a class: full screen, one thing at a time" }, "Classroom");
        made.addEventListener("click", () => this.lab.teach(key, this.panel));
        ways.append(" ", made);
        if (seen.anew.includes(key) && (each.state !== "not begun" || seen.classes.includes(key))) ways.append(" ", this.nextClass(key, each.path));
      }
      rows.append(tag("li", {},
        link(each.path, each.title, "nl-link nl-lesson-name"), ways, parts,
        tag("span", { class: "nl-small-print" }, `${of}${each.passed} of ${each.questions} questions right, ${minutes}`)));
    }
    const left = lessons.reduce((sum, each) => sum + each.minutes_left, 0);
    return tag("section", {}, tag("h2", {}, "Lessons"), rows, tag("p", { class: "nl-small-print" }, `About ${left} minutes in all.`));
  }
}
