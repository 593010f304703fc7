// `var(--name, fallback)` of CSS Custom Properties 1, within limits: a variable may hold others, and twenty that each hold the
// next one twice are a million copies of the last.

/** Characters that a value may grow to. */
const LONGEST = 100_000;
const DEEPEST = 30;

/** A value without variables, or the first variable that nobody sets. */
export type Substituted = { readonly value: string } | { readonly missing: string };

/** Puts the variables of an element into a value. A variable that holds itself is as good as unset. */
export const substituteVariables = (text: string, variables: ReadonlyMap<string, string>): Substituted => {
  let missing: string | undefined;
  const put = (value: string, depth: number): string | undefined => {
    let out = "";
    let at = 0;
    for (const found of value.matchAll(/\bvar\s*\(/gi)) {
      if (found.index < at) continue;
      const end = closing(value, found.index + found[0].length);
      const inner = value.slice(found.index + found[0].length, end);
      const comma = inner.indexOf(",");
      const name = (comma < 0 ? inner : inner.slice(0, comma)).trim();
      const held = variables.get(name);
      const own = held === undefined || depth >= DEEPEST ? undefined : put(held, depth + 1);
      const taken = own ?? (comma < 0 ? undefined : put(inner.slice(comma + 1), depth + 1));
      if (taken === undefined) {
        missing ??= name;
        return undefined;
      }
      out += value.slice(at, found.index) + taken.trim();
      if (out.length > LONGEST) {
        missing ??= name;
        return undefined;
      }
      at = end + 1;
    }
    return out + value.slice(at);
  };
  const value = put(text, 0);
  return value === undefined ? { missing: missing ?? text } : { value: value.trim() };
};

/** Where the bracket that was opened just before `from` closes; the end of the text when it never does. */
const closing = (text: string, from: number): number => {
  let depth = 1;
  for (let i = from; i < text.length; i++) {
    if (text[i] === "(") depth++;
    else if (text[i] === ")" && --depth === 0) return i;
  }
  return text.length;
};
