// oxlint-disable-next-line typescript/triple-slash-reference -- whoever compiles from the sources must find the types
/// <reference path="./css-tree-file.d.ts" />
// css-tree as the one file that it brings beside its modules: a quarter of the processor to load. `import` of its 60 modules took a
// tenth of a second in every process that reads a drawing.
import type * as Library from "css-tree";
import * as library from "css-tree/dist/csstree.esm";

export const { generate, lexer, List, parse, walk } = library as typeof Library;
export type List<T> = Library.List<T>;
export type CssNode = Library.CssNode;
export type Rule = Library.Rule;
export type Selector = Library.Selector;
