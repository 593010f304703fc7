import { fieldOf } from "./forms/fault.ts";

/** A key that one object of a JSON text has twice: its JSON path, and the lines of the text where it stands, from 1. */
export interface KeyTwice {
  readonly field: string;
  readonly lines: readonly [first: number, second: number];
}

/** A text that is wrong everywhere is reported at its first places. */
const MOST = 200;

interface Level {
  /** Names met so far with the line of each; undefined in a list. */
  readonly names: Map<string, number> | undefined;
  /** What of this level is being read: a name or an index. */
  step: string | number;
}

/**
 * Keys that stand twice in one object of a JSON text. `JSON.parse` takes the last and drops the others without a word. Names
 * that differ only in how their accents are composed (Unicode NFC) are one name.
 * @param text a text that `JSON.parse` has taken
 */
export const keysTwice = (text: string): KeyTwice[] => {
  const found: KeyTwice[] = [];
  const levels: Level[] = [];
  let line = 1;
  let expectsName = false;
  for (let i = 0; i < text.length && found.length < MOST; i++) {
    const level = levels.at(-1);
    switch (text[i]) {
      case "\n":
        line++;
        break;
      case "{":
        levels.push({ names: new Map(), step: "" });
        expectsName = true;
        break;
      case "[":
        levels.push({ names: undefined, step: 0 });
        expectsName = false;
        break;
      case "}":
      case "]":
        levels.pop();
        expectsName = false;
        break;
      case ",":
        if (level && typeof level.step === "number") level.step++;
        expectsName = level?.names !== undefined;
        break;
      case '"': {
        const end = endOfString(text, i);
        if (expectsName && level?.names) {
          const name = (JSON.parse(text.slice(i, end + 1)) as string).normalize("NFC");
          level.step = name;
          const before = level.names.get(name);
          if (before === undefined) level.names.set(name, line);
          else found.push({ field: fieldOf(levels.map((l) => l.step)), lines: [before, line] });
          expectsName = false;
        }
        i = end;
        break;
      }
      default:
    }
  }
  return found;
};

/** The quote that ends the string which begins at `start`: the next one with an even number of backslashes before it. */
const endOfString = (text: string, start: number): number => {
  for (let end = text.indexOf('"', start + 1); end >= 0; end = text.indexOf('"', end + 1)) {
    let slashes = 0;
    while (text[end - 1 - slashes] === "\\") slashes++;
    if (slashes % 2 === 0) return end;
  }
  return text.length;
};
