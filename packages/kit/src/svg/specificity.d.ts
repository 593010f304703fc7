// The package ships types but hides them from its exports.
declare module "@bramus/specificity" {
  const Specificity: {
    calculate(
      selector: string,
    ): readonly { toObject(): { readonly a: number; readonly b: number; readonly c: number } }[];
  };
  export default Specificity;
}
