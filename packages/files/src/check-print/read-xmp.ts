import { createRequire } from "node:module";
import type * as Saxes from "saxes";

// By `require`: `import` of a CommonJS library reads it twice, first for its exports.
const { SaxesParser } = createRequire(import.meta.url)("saxes") as typeof Saxes;

/** Depth of a property in an XMP packet: xmpmeta, RDF, Description, the property. */
const PROPERTY = 3;

/**
 * Text of every property of an XMP packet, by namespace and local name.
 *
 * @throws when the packet is not well-formed XML
 */
export const readXmp = (packet: Uint8Array): ReadonlyMap<string, string> => {
  const parser = new SaxesParser({ xmlns: true });
  const found = new Map<string, string>();
  const open: string[] = [];
  parser.on("opentag", (tag) => void open.push(`${tag.uri}${tag.local}`));
  parser.on("closetag", () => void open.pop());
  parser.on("text", (text) => {
    const property = open[PROPERTY];
    if (property && text.trim() !== "") found.set(property, text.trim());
  });
  parser.on("error", (error) => {
    throw error;
  });
  parser.write(new TextDecoder().decode(packet)).close();
  return found;
};
