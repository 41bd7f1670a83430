// From what a pilot types to what stands in the answer's cell, and back. Pure functions: no page, no kernel.

// ---------------------------------------------------------------- the source of an answer cell

const PLAIN = /^(None|[-+]?(\d+\.?\d*|\.\d+)|"(?:[^"\\\n]|\\["'\\n])*"|'(?:[^'\\\n]|\\["'\\n])*')$/;
const NUMBER = /^-?(\d+(\.\d+)?|\.\d+)$/;

// The values of "name = ..." with their places, so that only that piece of text is ever replaced. Gives null where there
// is no answer of a shape that a field can hold: then the cell has code of the learner's own.
export function answerIn(source, name = "") {
  const head = new RegExp(`^(${name || "[A-Za-z_]\\w*"})[ ]*=(?!=)[ ]*`, "m").exec(source);
  if (!head) return null;
  let at = head.index + head[0].length;
  const values = [];
  const space = () => {
    for (;;) {
      if (/\s/.test(source[at] ?? "")) at++;
      else if (source[at] === "#") while (at < source.length && source[at] !== "\n") at++;
      else return;
    }
  };
  const text = () => {
    const from = at, mark = source[at++];
    while (at < source.length && source[at] !== mark && source[at] !== "\n") at += source[at] === "\\" ? 2 : 1;
    at++;
    return source.slice(from, at);
  };
  const one = (label, close) => {
    const from = at;
    let deep = 0;
    while (at < source.length && source[at] !== "\n" && source[at] !== "#") {
      const sign = source[at];
      if (!deep && close && (sign === "," || sign === close)) break;
      if (sign === '"' || sign === "'") { text(); continue; }
      deep += "([{".includes(sign) ? 1 : ")]}".includes(sign) ? -1 : 0;
      at++;
    }
    const said = source.slice(from, at).trimEnd();
    const note = /^[ ]*,?[ ]*(?:#[ ]*(.*))?/.exec(source.slice(at))[1] ?? "";
    values.push({ label, from, to: from + said.length, text: said, note: note.trim() });
  };
  const opened = source[at];
  if (opened === "{" || opened === "[") {
    const close = opened === "{" ? "}" : "]";
    at++;
    for (space(); at < source.length && source[at] !== close; space()) {
      let label = String(values.length);
      if (opened === "{") {
        if (source[at] !== '"' && source[at] !== "'") return null;
        label = shownOf(text());
        space();
        if (source[at++] !== ":") return null;
        space();
      }
      one(label, close);
      space();
      if (source[at] === ",") at++;
      else if (source[at] !== close) return null;
    }
    if (source[at++] !== close) return null;
  } else one("", "");
  const behind = /^[ ]*#[ ]*(.*)/.exec(source.slice(at));
  if (opened === "{" || opened === "[") space();
  // Whatever else the cell does is the learner's own, but for the line that asks and the lines a flight needs.
  const rest = (source.slice(0, head.index) + source.slice(at)).replace(/^[ ]*#.*$/gm, "");
  const known = /^\s*(ask\("[\w-]+"\)|)\s*$/;
  const own = !known.test(rest.replace(/#.*$/gm, "")) || values.some((v) => !plain(v.text));
  return { name: head[1], values, own, note: behind ? behind[1].trim() : "" };
}

// True for what the cell may hold without being code of the learner's own: nothing, a number, a text, a sum of numbers.
export function plain(text) {
  return PLAIN.test(text) || /^0\d+(\.\d+)?$/.test(text) || sumOf(text) !== null;
}

// As it stands in a field: no quotation marks, nothing for None.
export function shownOf(literal) {
  if (literal === "None") return "";
  const quoted = /^(["'])([\s\S]*)\1$/.exec(literal);
  return quoted ? quoted[2].replace(/\\(["'\\n])/g, (_, sign) => (sign === "n" ? "\n" : sign)) : literal;
}

export const quoted = (words) => `"${words.replace(/[\\"]/g, "\\$&").replace(/\r?\n/g, "\\n")}"`;

// ---------------------------------------------------------------- sums

// The value of a plain sum (digits, + - * / and brackets), or null: nothing else is ever worked out here.
export function sumOf(text) {
  if (text.length > 200 || !/^[\d.\s()+*/-]+$/.test(text) || !/\d\s*[+*/-]/.test(text)) return null;
  const parts = text.match(/\d+\.?\d*|\.\d+|[()+*/-]/g) ?? [];
  if (parts.join("") !== text.replace(/\s/g, "") || /\d\s+[\d.]/.test(text)) return null;
  // What Python would not read: 045 in a sum, 3**2 and 7//2, which mean something else than on paper.
  if (parts.some((part, n) => /^0\d/.test(part) || (/[*/]/.test(part) && part === parts[n + 1]))) return null;
  let at = 0;
  const factor = () => {
    const part = parts[at++];
    if (part === "-") return -factor();
    if (part === "+") return factor();
    if (part === "(") {
      const inside = sum();
      if (parts[at++] !== ")") throw new Error("bracket");
      return inside;
    }
    if (part === undefined || !/\d/.test(part)) throw new Error("number");
    return Number(part);
  };
  const term = () => {
    let value = factor();
    while (parts[at] === "*" || parts[at] === "/") value = parts[at++] === "*" ? value * factor() : value / factor();
    return value;
  };
  const sum = () => {
    let value = term();
    while (parts[at] === "+" || parts[at] === "-") value = parts[at++] === "+" ? value + term() : value - term();
    return value;
  };
  try {
    const value = sum();
    return at === parts.length && Number.isFinite(value) ? value : null;
  } catch { return null; }
}

// ---------------------------------------------------------------- numbers as pilots write them

const UNITS = [
  ["ft/NM", /^(ft|feet|foot)\s*(\/|per)\s*(a\s+)?(nm|miles?|nautical miles?)$/i],
  ["fpm", /^(fpm|(ft|feet)\s*(\/|per|a)\s*min(ute)?)$/i],
  ["degrees", /^(°|º|deg\.?|degrees?)?\s*(m|mag\.?|magnetic|t|true)?$/i],
  ["feet", /^(ft|feet|foot)\.?$/i],
  ["knots", /^(kts?|kn|knots?)\.?$/i],
  ["miles", /^(nm|nmi|nautical miles?|miles?|dme)$/i],
  // A clock's marks, as 2'43" and 36": one stroke for minutes, two for seconds, in whatever form a keyboard gives them.
  ["seconds", /^((s|secs?|seconds?)\.?|["“”]|['’′]{2})$/i],
  ["minutes", /^(min\.?|mins|minutes?|['’′])$/i],
  ["per cent", /^(%|per ?cent)$/i],
  ["dots", /^dots?$/i],
  // The letter of a DME channel belongs to it, as in 53X; only its number is asked for.
  ["channel", /^(channel|[xy])$/i],
];
const SAID = { "ft/NM": "feet a mile", fpm: "feet a minute" };
// What names a thing by its number stands before it: channel 53.
const BEFORE = ["channel", "radial", "runway", "flight level", "page", "number"];
const areAsked = (unit) => (BEFORE.includes(unit) ? `the number of a ${unit} is asked for here` : `${SAID[unit] ?? unit} are asked for here`);
// One stroke is a foot where feet are asked for, else a minute.
const STROKE = /^['’′]$/;
const unitOf = (words, asked = "") => (asked === "feet" && STROKE.test(words.trim()) ? "feet" : (UNITS.find(([, form]) => form.test(words.trim())) ?? [""])[0]);
const EXAMPLE = "Type digits, for example 045, 5.8 or 1588.";

// What unit a question asks for, from its words: "degrees magnetic", "NM", "seconds".
export function askedUnit(words) {
  const first = words.trim();
  return first ? unitOf(first) || unitOf(first.split(/[ ,;(]/)[0]) : "";
}

// The number that was typed, as text for the cell; throws one sentence where it cannot be read.
export function numberFrom(typed, unit = "", label = "") {
  let text = typed.normalize("NFKC").replace(/[\u2212\u2013\u2012]/g, "-").replace(/[×·]/g, "*").replace(/÷/g, "/").trim();
  if (!text) return "None";
  const asked = askedUnit(unit), shown = `“${typed.trim()}”`;
  const time = /^(\d+)(?::|\s*(?:m|min\.?|minutes?|['’′])\s*)([0-5]?\d)\s*(?:s|sec\.?|seconds?|["“”]|['’′]{2})?$/i.exec(text);
  if (time) {
    if (asked && asked !== "seconds" && asked !== "minutes") {
      throw new Error(`${shown} is minutes and seconds; ${areAsked(asked)}.`);
    }
    if (!asked && !/second|clock|time|minute/i.test(label)) throw new Error(`${shown} is minutes and seconds; one number is asked for here.`);
    const seconds = 60 * Number(time[1]) + Number(time[2]);
    return asked === "minutes" || (!asked && /minute/i.test(label)) ? String(Math.round((seconds / 60) * 100) / 100) : String(seconds);
  }
  text = text.replace(/^(radial|r|heading|hdg|course|dme|d|channel|ch\.?)\s*(?=\d)/i, "");
  const split = /^([-+]?[\d.,\s\u00a0\u202f'’()+*/-]*[\d.)])\s*([^\d]*)$/.exec(text);
  if (!split) throw new Error(`${shown} is not a number. ${EXAMPLE}`);
  if (split[2].trim()) {
    const given = unitOf(split[2], asked);
    if (!given || (BEFORE.includes(given) && given !== asked)) throw new Error(`${shown} is not a number. ${EXAMPLE}`);
    if (asked && given !== asked) {
      throw new Error(`${shown} is in ${SAID[given] ?? given}; ${areAsked(asked)}.`);
    }
  }
  let digits = split[1].trim();
  if (/^[-+]?\d{1,3}([\s\u00a0\u202f'’]\d{3})+([.,]\d+)?$/.test(digits)) digits = digits.replace(/[\s\u00a0\u202f'’]/g, "");
  if (/^[-+]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?$/.test(digits)) digits = digits.replace(/,/g, "");
  else if (/^[-+]?\d*,\d+$/.test(digits)) digits = digits.replace(",", ".");
  const whole = digits.replace(/^\+/, "").replace(/^(-?)0+(?=\d)/, "$1").replace(/\.$/, "");
  if (NUMBER.test(whole)) return whole.replace(/^(-?)\./, "$10.");
  const sum = digits.replace(/(^|[^\d.])0+(?=\d)/g, "$1");
  if (sumOf(sum) !== null) return sum;
  throw new Error(`${shown} is not a number. ${EXAMPLE}`);
}

// A direction, by its unit or, where there is none, by what is asked for.
export const isDirection = (words) => /magnetic|\btrue\b|heading|course|radial|bearing/i.test(words) && !/NM|knots|kt\b|how many/i.test(words);

// As it stands in a field: a direction has three digits.
export function inField(literal, words) {
  const shown = shownOf(literal);
  return isDirection(words) && /^\d{1,2}$/.test(shown) ? shown.padStart(3, "0") : shown;
}

// What was read, said back as a pilot writes it, with the unit that stands behind the field where what is asked names
// none; nothing where it stands there already.
export function saidBack(typed, literal, unit = "", behind = unit) {
  if (literal === "None") return "";
  const sum = sumOf(literal);
  const value = sum ?? Number(literal);
  const asked = askedUnit(unit);
  let said;
  if (isDirection(unit) && Number.isInteger(value) && value >= 0 && value <= 360) {
    said = `${String(value).padStart(3, "0")}°`;
  } else {
    const whole = String(Math.round(value * 1e6) / 1e6).split(".");
    whole[0] = whole[0].replace("-", "\u2212").replace(/\B(?=(\d{3})+$)/g, ",");
    const short = { feet: "ft", knots: "kt", miles: "NM", degrees: "°", seconds: "s", minutes: "min" }[asked] ?? behind ?? "";
    const digits = whole.join(".");
    said = BEFORE.includes(short) ? `${short} ${digits}` : `${digits}${short === "°" ? "°" : short ? ` ${short}` : ""}`;
  }
  const bare = (words) => words.replace(/[\s°]/g, "").toLowerCase();
  return bare(typed) === bare(said) ? "" : said;
}

// One of the letters or words that can be picked.
export function pickFrom(typed, options) {
  const said = typed.normalize("NFKC").trim().replace(/\s+/g, " ").toUpperCase();
  if (!said) return "None";
  const hit = options.find((option) => option.letter.toUpperCase() === said);
  if (!hit) throw new Error(`“${typed.trim()}” is not one of ${options.map((option) => option.letter).join(", ")}.`);
  return quoted(hit.letter);
}

// A rule: a text with the signs a keyboard has.
export function ruleFrom(typed) {
  const text = typed.normalize("NFKC").replace(/[\u2212\u2013]/g, "-").replace(/[×·]/g, "*").replace(/÷/g, "/").replace(/["“”„‘’'`]/g, "").trim();
  return text ? quoted(text.replace(/[\n\r]/g, " ")) : "None";
}

// A name: any text of one line.
export function nameFrom(typed) {
  return quoted(typed.replace(/[\n\r\u0000-\u001f]/g, " ").trim());
}

// Checked last of all, before anything is written into a cell.
export function strict(literal) {
  if (PLAIN.test(literal) || sumOf(literal) !== null) return literal;
  throw new Error(`This cannot be read. ${EXAMPLE}`);
}
