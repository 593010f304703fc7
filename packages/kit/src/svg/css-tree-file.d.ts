/** css-tree as one file: it brings no types for it. */
declare module "css-tree/dist/csstree.esm" {
  export * from "css-tree";
}
