// What a learner gave and the file does not hold yet: the browser keeps it, by file and question, until a save is confirmed.

const PREFIX = "needlework:unsaved:";
// A save that was on its way when the page was closed may be a little newer than what was typed behind it.
const SLACK_MS = 5000;

export class Unsaved {
  // The place is the server, its folder and the file's path in it: two courses may have the same address one after the other.
  constructor(place, now) {
    this.name = PREFIX + place;
    this.now = now;
  }

  all() {
    try {
      const said = JSON.parse(localStorage.getItem(this.name) ?? "{}");
      return said && typeof said === "object" ? said : {};
    } catch { return {}; }
  }

  // With how the question stood when its verdict was asked for, as long as there is none.
  put(key, given, written, asked) { this.write({ ...this.all(), [key]: { given, written, asked, when: this.now() } }); }

  answered(key) {
    const { [key]: one, ...others } = this.all();
    // The file has it with the next save: until then the page may be closed before its verdict is kept.
    if (one) this.write({ ...others, [key]: { ...one, told: true, when: this.now() } });
  }

  // A save that began then is in the file. What no cell holds yet stays, as new as the file.
  saved(began) {
    const kept = {};
    for (const [key, one] of Object.entries(this.all())) {
      if (!one.written) kept[key] = { ...one, when: this.now() };
      else if (one.when > began) kept[key] = one;
      else if (one.asked !== undefined && !one.told) kept[key] = one;
    }
    this.write(kept);
  }

  // When a file is opened: what is older than it is given up, the rest waits until it stands in its fields again.
  opened(modified) {
    const limit = Date.parse(modified) || 0, kept = {};
    for (const [key, one] of Object.entries(this.all())) {
      if (!Array.isArray(one?.given)) continue;
      if (one.when + SLACK_MS >= limit) kept[key] = { ...one, written: false };
      else if (one.asked !== undefined && !one.told) kept[key] = { ...one, old: true };
    }
    this.write(kept);
  }

  forget(key) {
    const { [key]: _, ...others } = this.all();
    this.write(others);
  }

  drop() { this.write({}); }

  write(all) {
    // Without room, or where the browser keeps nothing, the file alone holds the answers, as ever.
    try {
      if (Object.keys(all).length) localStorage.setItem(this.name, JSON.stringify(all));
      else localStorage.removeItem(this.name);
    } catch {}
  }
}
