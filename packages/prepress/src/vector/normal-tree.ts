// The normal form of a drawing as the second renderer writes it: every style, length, shape and `use` resolved into groups and
// paths, read here into a tree.
import { type Token, tagsOf } from "../artwork/svg-tags.ts";

/** An element of the normal form. */
export interface Element {
  readonly name: string;
  readonly attributes: ReadonlyMap<string, string>;
  readonly children: readonly Element[];
}

/** A drawing in its normal form. */
export interface NormalDrawing {
  readonly root: Element;
  /** Gradients, clip paths and the like by their names. */
  readonly named: ReadonlyMap<string, Element>;
}

/** Elements that others refer to by name: nothing else may stand in for them. */
const NAMED = /^(?:linearGradient|radialGradient|pattern|clipPath|mask|filter)$/;

/** Reads the normal form; undefined when it is not one element with all its ends. */
export const readNormalForm = (svg: string): NormalDrawing | undefined => {
  const named = new Map<string, Element>();
  const open: { readonly token: Token; readonly children: Element[] }[] = [];
  let root: Element | undefined;
  const ended = (element: Element): void => {
    const id = element.attributes.get("id");
    if (id !== undefined && NAMED.test(element.name)) named.set(id, element);
    const parent = open.at(-1);
    if (parent) parent.children.push(element);
    else root ??= element;
  };
  for (const token of tagsOf(svg)) {
    if (token.kind === "empty") ended({ name: token.name, attributes: token.attributes, children: [] });
    else if (token.kind === "open") open.push({ token, children: [] });
    else if (token.kind === "close") {
      const last = open.pop();
      if (last?.token.name !== token.name) return undefined;
      ended({ name: token.name, attributes: last.token.attributes, children: last.children });
    }
  }
  return root?.name === "svg" && open.length === 0 ? { root, named } : undefined;
};
