// A lesson on paper: its text, its questions with room for the answers, its pictures as they stand at first. No code,
// no fields, no marks. It is put together when the browser is about to print, and taken away after it.

const WORKSHEET = "A worksheet: the lesson with room for your answers. What moves on the screen stands as the words below it say.";
const CAUTION = "Training aid with invented data. Not for navigation.";
const PLATE = /^plate\.show/m;
const LEFT_OUT = ["how", "sitting", "progress", "setup"];

export class Paper {
  constructor(view) {
    Object.assign(this, { view, panel: view.panel, tag: view.tag });
    this.before = () => { if (this.panel.isVisible && !document.querySelector(".nt")) this.build(); };
    this.after = () => this.remove();
    window.addEventListener("beforeprint", this.before);
    window.addEventListener("afterprint", this.after);
    this.panel.disposed.connect(() => {
      window.removeEventListener("beforeprint", this.before);
      window.removeEventListener("afterprint", this.after);
      this.remove();
    });
  }

  remove() {
    this.node?.remove();
    this.node = null;
    document.documentElement.classList.remove("np-printing");
  }

  build() {
    this.remove();
    const { tag } = this;
    this.node = tag("div", { class: "np" });
    for (const cell of this.panel.content.widgets) {
      const tags = cell.model.getMetadata("tags") ?? [];
      if (tags.some((each) => LEFT_OUT.includes(each))) continue;
      const made = cell.model.type === "markdown" ? this.prose(cell) : this.shown(cell);
      if (made.length) this.node.append(...made);
    }
    const title = this.node.querySelector("h1, h2"), sheet = tag("p", { class: "np-note" }, WORKSHEET);
    if (title) title.after(sheet); else this.node.prepend(sheet);
    this.node.append(tag("p", { class: "np-caution" }, CAUTION));
    document.body.append(this.node);
    document.documentElement.classList.add("np-printing");
  }

  prose(cell) {
    const there = cell.node.querySelector(".jp-RenderedMarkdown, .jp-RenderedHTMLCommon");
    if (!there?.childElementCount) {
      const lines = cell.model.sharedModel.getSource().split("\n").filter((line) => line.trim());
      return lines.map((line) => this.tag(/^#/.test(line) ? "h2" : "p", {}, this.view.fields.marked(line.replace(/^#+ /, ""))));
    }
    const made = there.cloneNode(true);
    made.className = "np-prose";
    for (const each of made.querySelectorAll(".jp-InternalAnchorLink, pre")) each.remove();
    for (const each of made.querySelectorAll("details")) each.open = true;
    return made.textContent.trim() ? [made] : [];
  }

  // A question with room for its answer; a picture or what moves as a still.
  shown(cell) {
    const { tag } = this;
    const { outputs } = cell.model, images = [], moves = Boolean(cell.node.querySelector(".nw-whatif")), asked = this.view.items.get(cell)?.question;
    for (let n = 0; n < outputs.length; n++) {
      const { data } = outputs.get(n), text = (kind) => [data?.[kind] ?? ""].flat().join(""), kind = ["image/png", "image/jpeg"].find((each) => data?.[each]);
      if (data?.["image/svg+xml"]) images.push(this.figure(`data:image/svg+xml,${encodeURIComponent(text("image/svg+xml"))}`, text("text/plain")));
      else if (kind) images.push(this.figure(`data:${kind};base64,${text(kind).replace(/\s/g, "")}`, text("text/plain")));
      else if (text("text/html").includes("<img")) {
        // Parsed apart from the page: nothing in it runs or loads.
        const page = new DOMParser().parseFromString(text("text/html"), "text/html");
        for (const image of page.querySelectorAll("img[src^='data:image/']")) images.push(this.figure(image.getAttribute("src"), image.alt));
      }
    }
    // A plate is read: it has a page.
    if (PLATE.test(cell.model.sharedModel.getSource())) for (const each of images) each.classList.add("np-plate");
    // Words that would give away what a question asks are left out here too.
    if (moves && !cell.hasClass("nl-kept-back")) for (const each of images) each.append(tag("figcaption", {}, each.querySelector("img").alt));
    return asked ? [this.question(asked, images)] : images;
  }

  figure(src, said) {
    return this.tag("figure", {}, this.tag("img", { src, alt: said }));
  }

  question(asked, images) {
    const { tag } = this, marked = (text) => this.view.fields.marked(text), block = tag("section", { class: "np-question" });
    block.append(tag("h3", {}, marked(asked.title)));
    for (const line of `${asked.prompt}\n${asked.given}`.split("\n")) if (line.trim()) block.append(tag("p", {}, marked(line)));
    block.append(...images);
    if (asked.kind === "flight") block.append(tag("p", { class: "np-note" }, "Flown on the screen."));
    else if (asked.cells.length) block.append(this.table(asked, marked));
    else if (asked.options.length) block.append(this.options(asked, marked));
    else block.append(tag("p", { class: "np-line" }, tag("span", { class: "np-blank" }), ` ${asked.unit}`));
    return block;
  }

  options(asked, marked) {
    const { tag } = this, order = asked.kind === "order";
    const rows = asked.options.map((each) => tag("li", {}, tag("span", { class: order ? "np-blank np-short" : "np-box" }), tag("b", {}, each.letter),
      tag("span", {}, each.text === each.letter ? "" : marked(each.text))));
    return tag("ul", { class: "np-options" }, ...rows);
  }

  table(asked, marked) {
    const { tag } = this;
    const rows = asked.cells.map((cell) => {
      const choices = cell.options.length ? cell.options.map((each) => each.letter).join(" / ") : cell.unit;
      return tag("tr", {}, tag("td", {}, marked(cell.label)), tag("td", {}, tag("span", { class: "np-blank" })), tag("td", {}, choices));
    });
    return tag("table", { class: "np-table" }, ...rows);
  }
}
