// The drawing without its lines, or only what a selector keeps of it: a new tree, the old one stays as it was. What is
// taken out may still be needed: a clip path often uses the cutting contour, a text may run along it. Such elements go into
// `defs` in their place, where they are not drawn but can be referred to.
import { Element, Text } from "domhandler";
import { elementsOf, walkElements } from "./parse.ts";
import { CLIPPING, type Ids, NEVER_DRAWN, targetOf } from "./references.ts";

/** What has no part in the picture: notes, fonts and profiles of SVG 1.1, and what an exporter left empty. */
const UNDRAWN =
  /^(style|metadata|title|desc|view|cursor|font|font-face|color-profile|solidcolor|solidColor|foreignObject|flowRoot|flowPara|flowRegion|script)$/;

export interface Pruning {
  readonly root: Element;
  readonly ids: Ids;
  /** Elements that selectors found as lines. */
  readonly lines: ReadonlySet<Element>;
  /** Elements that the artwork selector found; undefined: all of the drawing is artwork. */
  readonly kept: ReadonlySet<Element> | undefined;
}

interface Context {
  /** Inside a clip or mask: nothing is printed from there, so nothing is taken out. */
  readonly clipping: boolean;
  /** Inside what the artwork selector keeps, or inside a resource. */
  readonly whole: boolean;
}

const isBelow = (element: Element, set: ReadonlySet<Element>): boolean => {
  for (let p: Element | null = element; p; p = p.parent instanceof Element ? p.parent : null)
    if (set.has(p)) return true;
  return false;
};

/** What is referred to by anything that stays, other than by a use that draws a line. */
const neededBy = ({ root, ids, lines }: Pruning): ReadonlySet<Element> => {
  const needed = new Set<Element>();
  const clips = new Set([...walkElements(root)].filter((e) => CLIPPING.has(e.name)));
  for (const element of walkElements(root)) {
    if (element.attribs["href"] === undefined) continue;
    const target = targetOf(element, ids);
    if (!target) continue;
    const drawsLine = element.name === "use" && lines.has(target) && !isBelow(element, clips);
    if (!drawsLine && !lines.has(element)) needed.add(target);
  }
  return needed;
};

/** Elements with themselves or something below them in the set, so that one lookup answers for a subtree. */
const above = (set: ReadonlySet<Element>): ReadonlySet<Element> => {
  const all = new Set<Element>();
  for (const element of set)
    for (let p: Element | null = element; p && !all.has(p); p = p.parent instanceof Element ? p.parent : null)
      all.add(p);
  return all;
};

const link = (parent: Element, children: readonly (Element | Text)[]): Element => {
  for (const [i, child] of children.entries()) {
    child.parent = parent;
    child.prev = children[i - 1] ?? null;
    child.next = children[i + 1] ?? null;
  }
  parent.children = [...children];
  return parent;
};

/** A copy knows where it came from, for its styles. */
export interface Pruned {
  readonly root: Element;
  readonly source: ReadonlyMap<Element, Element>;
}

/** The drawing as artwork: lines taken out, and with `kept` only these subtrees with their ancestors and what they refer to. */
export const prune = (pruning: Pruning): Pruned => {
  const { root, ids, lines, kept } = pruning;
  const source = new Map<Element, Element>();
  const needed = neededBy(pruning);
  const holdsNeeded = above(needed);
  const chosen = (element: Element): boolean => {
    if (!kept) return false;
    if (kept.has(element)) return true;
    // A kept element that stands in defs is drawn where it is used. Budget has refused circles.
    const target = element.name === "use" ? targetOf(element, ids) : undefined;
    return target !== undefined && chosen(target);
  };
  const picks = kept ? new Set([...walkElements(root)].filter(chosen)) : new Set<Element>();
  const holdsPick = above(picks);
  const copy = (element: Element, children: readonly (Element | Text)[]): Element => {
    const twin = link(new Element(element.name, element.attribs), children);
    source.set(twin, element);
    return twin;
  };
  const whole = (element: Element): Element =>
    copy(
      element,
      element.children.flatMap((c): (Element | Text)[] =>
        c instanceof Element ? [whole(c)] : c instanceof Text ? [new Text(c.data)] : [],
      ),
    );
  const away = (element: Element): Element[] =>
    holdsNeeded.has(element) ? [link(new Element("defs", {}), [whole(element)])] : [];
  const below = (element: Element, context: Context): (Element | Text)[] =>
    element.children.flatMap((c): (Element | Text)[] =>
      c instanceof Element ? visit(c, context) : c instanceof Text && context.whole ? [new Text(c.data)] : [],
    );
  const visit = (element: Element, context: Context): Element[] => {
    if (UNDRAWN.test(element.name)) return [];
    const clipping = context.clipping || CLIPPING.has(element.name);
    if (!clipping) {
      if (lines.has(element)) return away(element);
      const target = element.name === "use" ? targetOf(element, ids) : undefined;
      if (target && lines.has(target)) return [];
    }
    if (context.whole || picks.has(element) || NEVER_DRAWN.has(element.name))
      return [copy(element, below(element, { clipping, whole: true }))];
    if (holdsPick.has(element)) return [copy(element, below(element, { clipping, whole: false }))];
    return away(element);
  };
  const all = kept === undefined || picks.has(root);
  const top = lines.has(root) ? [] : below(root, { clipping: false, whole: all });
  return { root: copy(root, top), source };
};

/** A switch draws the first of its children whose conditions hold: none asks for an extension or a language, nor for HTML. */
export const settleSwitches = (root: Element): void => {
  for (const element of walkElements(root)) {
    if (element.name !== "switch") continue;
    const taken = elementsOf(element).find(
      (c) =>
        c.name !== "foreignObject" &&
        c.attribs["requiredExtensions"] === undefined &&
        c.attribs["systemLanguage"] === undefined,
    );
    link(element, taken ? [taken] : []);
    element.name = "g";
  }
};
