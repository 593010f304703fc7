import type { Element } from "domhandler";
import type { Styles } from "./cascade.ts";
import { parseTransform } from "./transform-list.ts";

/** An element's own transform as read, and its text; undefined when it has none. */
export const ownTransform = (
  element: Element,
  styles: Styles,
): { readonly read: ReturnType<typeof parseTransform>; readonly text: string } | undefined => {
  const css = styles.winners(element).get("transform");
  const text = css ?? element.attribs["transform"];
  return text === undefined ? undefined : { read: parseTransform(text, css !== undefined), text };
};
