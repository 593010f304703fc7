// CSS selectors on the tree, with a budget: `a ~ b` or `:nth-child()` over 100,000 siblings is a quadratic walk, and a
// drawing may not hold the shop up.
import { compile, type Options } from "css-select";
import { type AnyNode, Element, Text } from "domhandler";
import { textOf, walkElements } from "./parse.ts";

/** Looks at the tree that all selectors of one drawing may take together: some for each element, and some in any case. */
const LOOKS = 5_000_000;
const LOOKS_PER_ELEMENT = 200;

class TooMuchWork extends Error {}

export interface Selecting {
  /** Elements found, in document order; or why not. */
  readonly find: (selector: string, root: Element) => { readonly elements: Element[] } | { readonly why: string };
  /** A test for one selector, or why there is none. The test throws nothing: past the budget it says no. */
  readonly matcher: (selector: string) => { readonly test: (element: Element) => boolean } | { readonly why: string };
  /** The budget, once it was spent. */
  readonly spent: () => number | undefined;
}

const whyOf = (e: unknown): string =>
  e instanceof TooMuchWork
    ? "it takes too long on so large a drawing"
    : e instanceof RangeError
      ? "it is nested too deeply"
      : selectorFault(e instanceof Error ? e.message : "");

/** What is wrong with a selector, for people who write them once a year. */
const selectorFault = (message: string): string => {
  const found = /^(?:Unknown pseudo-class|Expected name, found|Unmatched selector:) (.*)$/s.exec(message);
  const rest = (found?.[1] ?? "").trim().slice(0, 60);
  if (message.startsWith("Unknown pseudo-class")) return `${rest} is not known`;
  if (message.startsWith("Expected name"))
    return rest === "" ? "a name is missing at its end" : `a name is missing at "${rest}"`;
  if (message.startsWith("Unmatched")) return `it cannot be read from "${rest}" on`;
  if (/closing parenthesis/.test(message)) return "a bracket is not closed";
  if (/Attribute selector/.test(message)) return "a square bracket is not closed";
  if (/Empty sub-selector/.test(message)) return "a part of it is empty";
  if (/n-th rule/.test(message)) return "the number in an :nth- is not one";
  if (/Pseudo-elements/.test(message)) return "pseudo-elements choose no element of a drawing";
  if (/Namespaced/.test(message)) return "it names a namespace";
  return "it is no CSS selector that is known here";
};

/** @param elements how many the drawing has */
export const selecting = (elements: number): Selecting => {
  const budget = LOOKS + LOOKS_PER_ELEMENT * elements;
  let left = budget;
  const spend = (n = 1): void => {
    left -= n;
    if (left < 0) throw new TooMuchWork();
  };
  const isTag = (node: AnyNode): node is Element => {
    spend();
    return node instanceof Element;
  };
  const childrenOf = (node: AnyNode): AnyNode[] => {
    spend();
    return node instanceof Element ? node.children : [];
  };
  const siblingsOf = (node: AnyNode): AnyNode[] => {
    spend();
    return node.parent ? node.parent.children : [node];
  };
  const options: Options<AnyNode, Element> = {
    xmlMode: true,
    cacheResults: false,
    adapter: {
      isTag,
      getAttributeValue: (element, name) => element.attribs[name],
      getChildren: childrenOf,
      getName: (element) => element.name,
      getParent: (element) => {
        spend();
        return element.parent;
      },
      getSiblings: siblingsOf,
      getText: (node) => {
        if (node instanceof Text) return node.data;
        if (!(node instanceof Element)) return "";
        const text = textOf(node);
        spend(10 + text.length);
        return text;
      },
      hasAttrib: (element, name) => Object.hasOwn(element.attribs, name),
      removeSubsets: (nodes) => nodes.filter((n) => !nodes.some((m) => m !== n && isAbove(m, n, spend))),
      prevElementSibling: (node) => {
        let prev = node.prev;
        while (prev && !(prev instanceof Element)) {
          spend();
          prev = prev.prev;
        }
        return prev;
      },
    },
  };
  return {
    find: (selector, root) => {
      try {
        const test = compile(selector, options);
        return { elements: [...walkElements(root)].filter((element) => test(element)) };
      } catch (e) {
        return { why: whyOf(e) };
      }
    },
    matcher: (selector) => {
      try {
        const test = compile(selector, options);
        return {
          test: (element) => {
            try {
              return left >= 0 && test(element);
            } catch {
              return false;
            }
          },
        };
      } catch (e) {
        return { why: whyOf(e) };
      }
    },
    spent: () => (left < 0 ? budget : undefined),
  };
};

const isAbove = (above: AnyNode, node: AnyNode, spend: () => void): boolean => {
  for (let p: AnyNode | null = node.parent; p; p = p.parent) {
    spend();
    if (p === above) return true;
  }
  return false;
};
