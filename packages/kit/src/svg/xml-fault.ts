// What is wrong with a drawing as XML, in words of the trade: the reader's own are about grammars.

const FAULTS: readonly (readonly [pattern: RegExp, words: (name: string) => string])[] = [
  [/^unclosed tag: (\S+)$/, (name) => `<${name}> is opened and never closed; perhaps the file is cut off`],
  [/^unmatched closing tag: (\S+?)\.?$/, (name) => `</${name}> closes what was not opened`],
  [/^unexpected close tag/, () => "a tag is closed that was not opened"],
  [
    /^unbound namespace prefix: "(.+)"/,
    (name) => `the prefix ${name}: is used, and no xmlns:${name} says what it means`,
  ],
  [
    /^undefined entity|entity/,
    () => "an & is followed by a name that the drawing does not explain; a plain & is written &amp;",
  ],
  [/^duplicate attribute: (\S+?)\.?$/, (name) => `the attribute ${name} is given twice`],
  [/attribute|whitespace between/, () => 'an attribute is not written as name="value"'],
  [/^text data outside|^documents may contain|root element/, () => "it is not one <svg> with everything in it"],
  [
    /declaration|version number|^(encoding|standalone) value|^value (required|must)/,
    () => "its first line, <?xml ... ?>, is not written as XML asks for",
  ],
  [/^unexpected end/, () => "it ends in the middle; perhaps it is cut off"],
  [/comment/, () => "a comment holds -- or is not ended with -->"],
  [/disallowed|malformed|string "\]\]>"/, () => "a character stands where it may not stand"],
];

/** The fault of a message like `3:14: unclosed tag: g`, with its line. */
export const xmlFault = (message: string): string => {
  const [, line, , what = message] = /^(\d+):(\d+): ([\s\S]*)$/.exec(message) ?? [];
  const place = line === undefined ? "" : ` (line ${line})`;
  for (const [pattern, words] of FAULTS) {
    const found = pattern.exec(what.trim());
    if (found) return words((found[1] ?? "").slice(0, 60)) + place;
  }
  return `it is not well-formed XML${place}`;
};
