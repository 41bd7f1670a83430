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

  put(key, given, written) { this.write({ ...this.all(), [key]: { given, written, when: this.now() } }); }

  // A save that began then is in the file. What no cell holds yet stays, as new as the file.
  saved(began) {
    const kept = {};
    for (const [key, one] of Object.entries(this.all())) {
      if (!one.written) kept[key] = { ...one, when: this.now() };
      else if (one.when > began) kept[key] = one;
    }
    this.write(kept);
  }

  // When a file is opened: what is older than it is given up, the rest waits until it stands in its fields again.
  opened(modified) {
    const limit = Date.parse(modified) || 0, kept = {};
    for (const [key, one] of Object.entries(this.all())) {
      if (Array.isArray(one?.given) && one.when + SLACK_MS >= limit) kept[key] = { ...one, written: false };
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
