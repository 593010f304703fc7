// oxlint-disable-next-line typescript/triple-slash-reference -- whoever compiles from the sources must find the types
/// <reference path="./specificity.d.ts" />
// Which declaration of which style sheet holds for which element. The drawing is taken apart afterwards (lines out, artwork
// kept), and selectors like `path:nth-child(2)` would then find others; so the cascade is settled once, on the whole drawing,
// and written into the elements.
import Specificity from "@bramus/specificity";
import { type CssNode, generate, List, parse, type Rule, type Selector } from "./css-tree.ts";
import type { Element } from "domhandler";
import type { Ledger } from "../ledger.ts";
import { selecting } from "./select.ts";
import { textOf, walkElements } from "./parse.ts";

/** Declarations that win on an element, in the order in which they would be applied; presentation attributes not among them. */
export type Winners = ReadonlyMap<string, string>;

export interface Styles {
  /** What style sheets and the style attribute say about an element. */
  readonly winners: (element: Element) => Winners;
  /** The value that holds on an element itself: a declaration, else the presentation attribute. Lower case for keywords is the caller's. */
  readonly own: (element: Element, property: string) => string | undefined;
}

interface Declared {
  readonly property: string;
  readonly value: string;
  readonly important: boolean;
}

interface SheetRule {
  readonly test: (element: Element) => boolean;
  readonly weight: readonly [number, number, number];
  readonly declared: readonly Declared[];
  readonly order: number;
}

const NONE: Winners = new Map();
const MOST_RULES = 20_000;

const declarationsIn = (nodes: List<CssNode>): Declared[] =>
  nodes.toArray().flatMap((node): Declared[] => {
    if (node.type !== "Declaration") return [];
    const property = node.property.startsWith("--") ? node.property : node.property.toLowerCase();
    return [{ property, value: generate(node.value).trim(), important: node.important !== false }];
  });

/** The id, class or type of the last compound, by which most elements are ruled out without a test. */
const keyOf = (selector: Selector): string => {
  for (const part of selector.children.toArray().toReversed()) {
    if (part.type === "Combinator") break;
    if ("name" in part && typeof part.name === "string" && !/^[\w-]+$/.test(part.name)) continue;
    if (part.type === "IdSelector") return `#${part.name}`;
    if (part.type === "ClassSelector") return `.${part.name}`;
    if (part.type === "TypeSelector") return part.name;
  }
  return "*";
};

const hasPseudoElement = (selector: Selector): boolean =>
  selector.children.toArray().some((part) => part.type === "PseudoElementSelector");

/** Media that hold for a drawing that is rasterised: all and screen, without conditions. */
const mediaHolds = (prelude: string): boolean =>
  prelude.split(",").some((m) => /^(only\s+)?(all|screen)$/i.test(m.trim()) || m.trim() === "");

interface Sheet {
  readonly byKey: Map<string, SheetRule[]>;
  count: number;
}

const gatherRules = (
  nodes: List<CssNode>,
  sheet: Sheet,
  select: ReturnType<typeof selecting>,
  report: Ledger,
): void => {
  for (const node of nodes.toArray()) {
    if (node.type === "Atrule") {
      const name = node.name.toLowerCase();
      const prelude = node.prelude ? generate(node.prelude) : "";
      if (name === "import") report.say("external-reference", { element: "<style>", reference: `@import ${prelude}` });
      else if (name === "media" && node.block) {
        if (mediaHolds(prelude)) gatherRules(node.block.children, sheet, select, report);
      } else if (!/^(font-face|charset|page|keyframes|namespace|media)$/.test(name))
        report.say("style-unreadable", { what: `@${name} is read over` });
    } else if (node.type === "Rule") addRule(node, sheet, select, report);
    else if (node.type === "Raw" && node.value.trim() !== "")
      report.say("style-unreadable", { what: `"${node.value.trim().slice(0, 60)}" is no rule` });
  }
};

const addRule = (rule: Rule, sheet: Sheet, select: ReturnType<typeof selecting>, report: Ledger): void => {
  const declared = declarationsIn(rule.block.children);
  if (declared.length === 0) return;
  if (rule.prelude.type !== "SelectorList") {
    report.say("style-unreadable", { what: `the selector "${generate(rule.prelude).slice(0, 60)}"` });
    return;
  }
  for (const selector of rule.prelude.children.toArray()) {
    if (selector.type !== "Selector" || hasPseudoElement(selector)) continue;
    if (++sheet.count > MOST_RULES) {
      if (sheet.count === MOST_RULES + 1) report.say("drawing-too-large", { what: "style rules", most: MOST_RULES });
      return;
    }
    const text = generate(selector);
    const match = select.matcher(text);
    if ("why" in match) {
      report.say("style-unreadable", { what: `the selector "${text.slice(0, 60)}" (${match.why})` });
      continue;
    }
    const { a, b, c } = Specificity.calculate(text)[0]?.toObject() ?? { a: 0, b: 0, c: 0 };
    const key = keyOf(selector);
    const bucket = sheet.byKey.get(key);
    const one: SheetRule = { test: match.test, weight: [a, b, c], declared, order: sheet.count };
    if (bucket) bucket.push(one);
    else sheet.byKey.set(key, [one]);
  }
};

const byWeight = (p: SheetRule, q: SheetRule): number =>
  p.weight[0] - q.weight[0] || p.weight[1] - q.weight[1] || p.weight[2] - q.weight[2] || p.order - q.order;

const inlineOf = (text: string): Declared[] => {
  try {
    const list = parse(text, { context: "declarationList", parseValue: false, parseCustomProperty: false });
    return list.type === "DeclarationList" ? declarationsIn(list.children) : [];
  } catch {
    return [];
  }
};

const settle = (rules: readonly SheetRule[], inline: readonly Declared[]): Winners => {
  if (rules.length === 0 && inline.length === 0) return NONE;
  const all = [...rules.flatMap((r) => r.declared), ...inline];
  const winners = new Map<string, string>();
  for (const important of [false, true])
    for (const d of all)
      if (d.important === important) {
        // Deleted first: the order of the map is the order of winning, which tells shorthands from what corrects them.
        winners.delete(d.property);
        winners.set(d.property, d.value);
      }
  return winners;
};

/** The cascade of a drawing: author style sheets (media all and screen) and style attributes, by CSS Cascade 4. */
export const cascade = (root: Element, report: Ledger): Styles => {
  const select = selecting([...walkElements(root)].length);
  const sheet: Sheet = { byKey: new Map(), count: 0 };
  for (const element of walkElements(root)) {
    if (element.name !== "style") continue;
    const type = element.attribs["type"];
    if (type && !/^text\/css\s*(;|$)/i.test(type)) continue;
    if (!mediaHolds(element.attribs["media"] ?? "")) continue;
    try {
      const tree = parse(textOf(element), { parseValue: false, parseAtrulePrelude: false, parseCustomProperty: false });
      if (tree.type === "StyleSheet") gatherRules(tree.children, sheet, select, report);
    } catch {
      // css-tree recurses over nested brackets: a style sheet of nothing but brackets ends its stack, not ours.
      report.say("style-unreadable", { what: "its brackets are nested too deeply, or it is not CSS" });
    }
  }
  const settled = new Map<Element, Winners>();
  const everywhere = sheet.byKey.get("*") ?? [];
  for (const element of walkElements(root)) {
    const classes = element.attribs["class"]?.split(/\s+/).filter(Boolean) ?? [];
    const candidates = [
      ...everywhere,
      ...(sheet.byKey.get(element.name) ?? []),
      ...(element.attribs["id"] ? (sheet.byKey.get(`#${element.attribs["id"]}`) ?? []) : []),
      ...[...new Set(classes)].flatMap((c) => sheet.byKey.get(`.${c}`) ?? []),
    ];
    const rules = candidates.filter((rule) => rule.test(element)).sort(byWeight);
    const inline = element.attribs["style"] ? inlineOf(element.attribs["style"]) : [];
    const winners = settle(rules, inline);
    if (winners.size > 0) settled.set(element, winners);
  }
  const spent = select.spent();
  if (spent !== undefined) report.say("drawing-too-large", { what: "steps to take for its style sheets", most: spent });
  const winners = (element: Element): Winners => settled.get(element) ?? NONE;
  return { winners, own: (element, property) => winners(element).get(property) ?? element.attribs[property] };
};
