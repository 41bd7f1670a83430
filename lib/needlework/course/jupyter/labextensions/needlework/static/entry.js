// What JupyterLab and Notebook load: finds the lessons that are open and puts a page over each. Plain JavaScript, no build.
(() => {
  const base = document.currentScript.src, search = new URL(base).search;
  const part = (name) => import(new URL(`./${name}.js${search}`, base).href);
  const AROUND = ["jp-top-panel", "jp-menu-panel", "jp-title-panel-title", "jp-bottom-panel"];
  const FOLLOW = "apputils:adaptive-theme", FOLLOW_MS = 3000, LANDED_MS = 3000, COVERED_MS = 20000;
  const GONE = "The course does not answer. Was it stopped, or the window closed in which it was started? Start it again in the same way and come back to this page: what you gave is kept in this browser until then.";
  // A lesson or the start page: until it is there, nothing of JupyterLab's is seen round it.
  const OURS = /(^|\/)(start|([\w-]+)\/\3)\.ipynb$/;
  const uncover = () => document.documentElement.classList.remove("nl-opening");
  if (OURS.test(decodeURIComponent(location.pathname))) {
    document.documentElement.classList.add("nl-opening");
    // What does not open, or fails, is not hidden for good.
    setTimeout(uncover, COVERED_MS);
  }
  const early = document.createElement("style");
  early.textContent = `
    .nl-opening :is(#jp-top-panel, #jp-menu-panel, #jp-title-panel-title, #jp-bottom-panel, #menu-panel-wrapper, #top-panel-wrapper) { visibility: hidden; }
    .nl-opening body::after { content: "Getting ready …"; position: fixed; inset: 0; z-index: 900; display: flex; align-items: center; justify-content: center; font: 17px var(--jp-ui-font-family, system-ui, sans-serif); color-scheme: light dark; background: var(--jp-layout-color0, Canvas); color: var(--jp-ui-font-color1, CanvasText); }
    .nl-veil { position: absolute; inset: 0; z-index: 30; display: flex; align-items: center; justify-content: center; font-size: 17px; background: var(--jp-layout-color0, #fff); color: var(--jp-ui-font-color1, #333); }`;
  document.head.append(early);
  let shared, gone = null;
  const use = async (name) => {
    const offers = Object.values(shared[name]);
    return (await (offers.find((offer) => offer.loaded || offer.eager) ?? offers[0]).get())();
  };

  // The page that the address names is opened last of all, over whatever is there: what was clicked before waits for it.
  const landing = ({ commands, restored }) => !location.pathname.includes("/tree/") ? null : new Promise((done) => {
    commands.commandExecuted.connect((_, { id, result }) => { if (id === "filebrowser:open-path") result.then(done, done); });
    restored.then(() => setTimeout(done, LANDED_MS), done);
  });

  async function activate(app, tracker, plugins) {
    const landed = landing(app);
    const [cells, widgets, outputarea, services, apputils, reading, fields, lesson, unsaved, beside, start, teach, paper] = await Promise.all([
      use("@jupyterlab/cells"), use("@lumino/widgets"), use("@jupyterlab/outputarea"), use("@jupyterlab/services"),
      use("@jupyterlab/apputils"), part("reading"), part("fields"), part("lesson"), part("unsaved"), part("beside"), part("start"), part("teach"), part("paper"),
    ]);
    const look = (href) => {
      const link = document.createElement("link");
      link.rel = "stylesheet";
      link.href = href;
      document.head.append(link);
    };
    const views = new WeakMap(), starts = new Set();
    let told = null;
    gone = async () => {
      // One question that fails is no server that is gone.
      if (await lab.answers()) return;
      const open = [];
      tracker.forEach((panel) => { if (views.has(panel)) open.push(views.get(panel)); });
      for (const view of open) view.gone();
      if (!open.length) told ??= apputils.showErrorMessage("Nobody answers", GONE).finally(() => { told = null; });
    };
    let faces = null;
    const { ServerConnection } = services, settings = app.serviceManager.serverSettings;
    const root = () => {
      try { return JSON.parse(document.getElementById("jupyter-config-data").textContent).serverRoot ?? ""; } catch { return ""; }
    };
    let ahead = 0;
    const lab = {
      cells, widgets, outputarea, GONE,
      // The server's time: what a file's age is compared with.
      now: () => Date.now() + ahead,
      // Where a file lies, told apart from one of another course that had the same address.
      placeOf: (path) => [settings.baseUrl, root(), path].join("|"),
      // Asks the course's own part of the server; null where there is none, as in a plain Jupyter. What the server
      // refuses with a sentence is given as that, where the caller wants it.
      async server(path, body, refusals = false) {
        try {
          const request = body ? { method: "POST", body: JSON.stringify(body) } : {};
          const answer = await ServerConnection.makeRequest(settings.baseUrl + path, request, settings);
          const there = Date.parse(answer.headers.get("Date") ?? "");
          if (there) ahead = there + 500 - Date.now();
          if (refusals && answer.status === 400) return { refused: (await answer.json()).message };
          return answer.ok ? await answer.json() : null;
        } catch { return null; }
      },
      address: (path) => settings.baseUrl + path,
      // Whether anybody answers there at all.
      async answers() {
        try { await ServerConnection.makeRequest(`${settings.baseUrl}api`, {}, settings); return true; } catch { return false; }
      },
      // A notebook as it lies in the learner's folder; null where nobody answers.
      file: (path) => app.serviceManager.contents.get(path, { type: "notebook", content: true, hash: true }).catch(() => null),
      // Puts a copy of it beside it, as it lies there or with what is given; gives the copy's name, empty where it cannot.
      async aside(path, content) {
        try {
          const { contents } = app.serviceManager, made = await contents.copy(path, path.split("/").slice(0, -1).join("/"));
          if (content) await contents.save(made.path, { type: "notebook", format: "json", content });
          return made.name;
        } catch { return ""; }
      },
      // Writes it; false where it cannot.
      put: (path, content) => app.serviceManager.contents.save(path, { type: "notebook", format: "json", content }).then(() => true, () => false),
      // JupyterLab's own address may by now be that of the folder.
      anew(path) {
        if ("mode" in app.shell) location.assign(`${settings.baseUrl}lab/tree/${path.split("/").map(encodeURIComponent).join("/")}?reset`);
        else location.reload();
      },
      // A name given in one lesson of a folder, for the next one.
      nameKept: (path) => `needlework:name:${lab.placeOf(lab.inside(path))}`,
      remember(path, name) { try { if (name) localStorage.setItem(lab.nameKept(path), name); else localStorage.removeItem(lab.nameKept(path)); } catch {} },
      remembered(path) { try { return localStorage.getItem(lab.nameKept(path)) ?? ""; } catch { return ""; } },
      unveil(panel) {
        panel.node.querySelector(":scope > .nl-veil")?.remove();
        uncover();
      },
      // The kernel of a session on a file, other than one that has ended.
      async kernelOf(path, ended) {
        await sessions.refreshRunning().catch(() => {});
        return [...sessions.running()].find((each) => each.path === path && each.kernel && each.kernel.id !== ended)?.kernel.id ?? "";
      },
      lives: (path) => lives(path).catch(() => false),
      // The instruments of the notebook, for a page without one.
      faces() {
        if (faces) return faces;
        look(`${settings.baseUrl}needlework/class/faces.css`);
        return (faces = import(new URL(`${settings.baseUrl}needlework/class/faces.js`, location.href).href));
      },
      // Saves a lesson that is open, closes it and ends what works its answers out: it may be changed on the disk then.
      async close(path) {
        const panel = tracker.find((each) => each.context.path === path);
        if (!panel) return;
        const view = views.get(panel);
        await view?.rest();
        view?.unsaved.drop();
        const { id } = panel.sessionContext.session ?? {};
        panel.dispose();
        if (id) await app.serviceManager.sessions.shutdown(id).catch(() => {});
      },
      // A lesson before a class, over whatever is open; it comes back to the same place.
      teach(key, panel, from) { new teach.Classroom(lab, { fields, rendermime: panel.content.rendermime }, key, from); },
      // Which question is shown when a lesson that is being opened is ready, by its path.
      wanted: new Map(),
      // A lesson at one of its questions, or as #2 at the beginning of its second sitting; without either where one stopped.
      async openAt(name, question, from) {
        const path = lab.inside(from) + name, panel = tracker.find((each) => each.context.path === path);
        const view = panel && views.get(panel);
        if (!view && question) lab.wanted.set(path, question);
        await lab.open(name, from);
        // In the page that is out of sight nothing has a place.
        if (view && question) view.goTo(question);
      },
      // Something was answered: what says how far the learner is, is true again.
      answered() { for (const view of starts) view.show(); },
      inside(from) {
        const above = from.split("/").slice(0, -2);
        // Homework that was fetched lies one folder deeper.
        if (above.at(-1) === "homework") above.pop();
        return above.map((each) => `${each}/`).join("");
      },
      async open(name, from) {
        const path = lab.inside(from) + name;
        await landed;
        return app.commands.hasCommand("docmanager:open") && app.commands.execute("docmanager:open", { path, factory: "Notebook" });
      },
      // Light or dark, as JupyterLab has it; it remembers which.
      async turnDark() {
        const dark = document.body.dataset.jpThemeLight === "false";
        const follows = () => app.commands.hasCommand(FOLLOW) && app.commands.isToggled(FOLLOW);
        if (follows()) {
          // It ends a moment after it is told to, and until then no choice is heard.
          app.commands.execute(FOLLOW);
          for (const until = performance.now() + FOLLOW_MS; follows() && performance.now() < until;) await new Promise((done) => setTimeout(done, 50));
        }
        await app.commands.execute("apputils:change-theme", { theme: dark ? "JupyterLab Light" : "JupyterLab Dark" });
        return !dark;
      },
      // Menus, side bars and the line at the foot belong to whoever builds with JupyterLab; a lesson needs none of them.
      loud: () => document.body.classList.contains("nl-loud"),
      quiet(loud) {
        const { shell } = app;
        document.body.classList.toggle("nl-loud", loud);
        if (!("mode" in shell)) {
          // Notebook has one page and its menus above it.
          if (loud) shell.expandTop?.(); else shell.collapseTop?.();
          return;
        }
        // Changing the mode takes every page off and puts it back: not without need.
        const mode = loud ? "multiple-document" : "single-document";
        const around = () => { for (const piece of shell.layout.widgets) if (AROUND.includes(piece.id)) piece.setHidden(!loud); };
        // With several pages the menus stand inside the panel at the top, where they are no more to be found from here.
        if (loud) around();
        if (shell.mode !== mode) shell.mode = mode;
        if (!loud) around();
        for (const side of ["left", "right"]) if (shell.isSideTabBarVisible(side) !== loud) shell.toggleSideTabBarVisibility(side);
        if (loud) return;
        shell.collapseLeft();
        shell.collapseRight();
      },
    };
    // Where nothing has been chosen, light or dark is as the whole computer has it.
    const followed = async () => {
      const { raw } = await app.serviceManager.settings.fetch("@jupyterlab/apputils-extension:themes");
      if (/"(theme|adaptive-theme)"/.test(raw) || !app.commands.hasCommand(FOLLOW)) return;
      if (!app.commands.isToggled(FOLLOW)) await app.commands.execute(FOLLOW);
    };
    app.restored.then(followed).catch(() => {});
    // The browser's way back changes the address only.
    window.addEventListener("popstate", () => {
      const path = decodeURIComponent(/\/tree\/(.+)$/.exec(location.pathname)?.[1] ?? "");
      const there = app.shell.currentWidget?.context?.path;
      if (OURS.test(path) && path !== there) app.commands.execute("docmanager:open", { path, factory: "Notebook" });
    });
    // After that of the instruments, whose sizes it enlarges.
    look(new URL(`./look.css${search}`, base).href);
    look(new URL(`./teach.css${search}`, base).href);
    const { sessions } = app.serviceManager;
    const lives = async (path) => {
      await sessions.refreshRunning();
      return [...sessions.running()].some((session) => session.path === path);
    };
    const veil = (panel) => {
      const made = document.createElement("div");
      made.className = "nl-veil";
      made.textContent = "Getting ready …";
      panel.node.append(made);
      // Letters, digits and Enter would change the notebook beneath, which has keys for headings, cutting and opening a cell.
      const swallow = (event) => {
        if (!made.isConnected) { window.removeEventListener("keydown", swallow, true); return; }
        if (event.ctrlKey || event.metaKey || event.altKey || event.key === "Tab" || event.target.closest?.("input, textarea")) return;
        if (event.target !== document.body && !panel.node.contains(event.target)) return;
        event.preventDefault();
        event.stopPropagation();
      };
      window.addEventListener("keydown", swallow, true);
    };
    const opened = async (panel) => {
      // The start page holds text only: a kernel would take memory for nothing, so its session is never begun. This is
      // before the file has come; others who wait for the session, as the sliders' part does, go on waiting.
      const { sessionContext } = panel, front = panel.context.path.split("/").pop() === "start.ipynb";
      if (front) sessionContext.initialize = async () => false;
      // Asked before the notebook starts a session of its own.
      const live = await lives(panel.context.path);
      await panel.context.ready;
      if (!live) lesson.withoutLive(panel);
      await app.restored;
      if (panel.isDisposed) return;
      if (panel.content.model?.getMetadata?.("needlework")?.page === "start") {
        const view = new start.StartView(app, lab, { fields }, panel);
        starts.add(view);
        lab.unveil(panel);
        panel.disposed.connect(() => starts.delete(view));
        return;
      }
      // A notebook of the learner's own that has this name.
      if (front) {
        delete sessionContext.initialize;
        sessionContext.initialize();
      }
      const key = lesson.lessonOf(panel);
      if (!key) { lab.unveil(panel); return; }
      const view = new lesson.LessonView(app, lab, { reading, fields, unsaved, beside }, panel, key);
      views.set(panel, view);
      new paper.Paper(view);
      // Where JupyterLab would print the notebook with its code, the lesson is printed.
      panel[apputils.Printing.symbol] = () => async () => window.print();
    };
    const failed = (panel, fault) => {
      // The notebook beneath works by itself.
      console.error("The lesson is shown without its fields:", fault);
      panel.removeClass("nl-lesson");
      panel.toolbar.show();
      lab.unveil(panel);
      lab.quiet(true);
    };
    const safely = (panel) => {
      if (OURS.test(panel.context.path)) veil(panel);
      opened(panel).catch((fault) => failed(panel, fault));
    };
    tracker.widgetAdded.connect((_, panel) => safely(panel));
    tracker.forEach(safely);
  }

  (window._JUPYTERLAB ??= {}).needlework = {
    init: (scope) => { shared = scope; },
    get: async () => {
      const [{ INotebookTracker }, { IConnectionLost }] = await Promise.all([use("@jupyterlab/notebook"), use("@jupyterlab/application")]);
      const plugin = {
        id: "needlework:lessons",
        autoStart: true,
        requires: [INotebookTracker],
        activate: (app, tracker) => { activate(app, tracker).catch((fault) => { uncover(); console.error("Lessons are shown without fields:", fault); }); },
      };
      // In place of JupyterLab's own words, which are for whoever runs a server.
      const lost = { id: "needlework:lost", autoStart: true, provides: IConnectionLost, activate: () => async () => gone?.() };
      // Without the mark of a module JupyterLab stays blank.
      return () => ({ __esModule: true, default: [plugin, lost] });
    },
  };
})();
