// Names that SVG has: elements and attributes of SVG 1.1, SVG 2 and the drafts between them that programs write (from memory).

const words = (text: string): ReadonlySet<string> => new Set(text.trim().split(/\s+/));

export const ELEMENTS = words(`
  a altGlyph altGlyphDef altGlyphItem animate animateColor animateMotion animateTransform animation audio canvas circle clipPath
  color-profile cursor defs desc discard ellipse feBlend feColorMatrix feComponentTransfer feComposite feConvolveMatrix
  feDiffuseLighting feDisplacementMap feDistantLight feDropShadow feFlood feFuncA feFuncB feFuncG feFuncR feGaussianBlur feImage
  feMerge feMergeNode feMorphology feOffset fePointLight feSpecularLighting feSpotLight feTile feTurbulence filter flowDiv flowLine
  flowPara flowRef flowRegion flowRegionExclude flowRoot flowSpan flowTref font font-face font-face-format font-face-name
  font-face-src font-face-uri foreignObject g glyph glyphRef handler hatch hatchpath hatchPath hkern iframe image line linearGradient
  listener marker mask mesh meshgradient meshGradient meshpatch meshPatch meshrow meshRow metadata missing-glyph mpath path pattern
  pgf polygon polyline prefetch radialGradient rect script set solidcolor solidColor stop style svg switch symbol tbreak text textArea
  textPath title tref tspan unknown use video view vkern`);

/** Properties that are attributes too (SVG 2, appendix of properties). */
const PROPERTIES = `
  alignment-baseline baseline-shift clip clip-path clip-rule color color-interpolation color-interpolation-filters color-profile
  color-rendering cursor direction display dominant-baseline enable-background fill fill-opacity fill-rule filter flood-color
  flood-opacity font font-family font-size font-size-adjust font-stretch font-style font-variant font-weight glyph-orientation-horizontal
  glyph-orientation-vertical image-rendering inline-size isolation kerning letter-spacing lighting-color line-height marker marker-end
  marker-mid marker-start mask mask-type mix-blend-mode opacity overflow paint-order pointer-events shape-image-threshold
  shape-inside shape-margin shape-padding shape-rendering shape-subtract solid-color solid-opacity stop-color stop-opacity stroke
  stroke-dasharray stroke-dashoffset stroke-linecap stroke-linejoin stroke-miterlimit stroke-opacity stroke-width text-align
  text-align-all text-align-last text-anchor text-decoration text-decoration-color text-decoration-line text-decoration-style
  text-indent text-orientation text-overflow text-rendering transform transform-box transform-origin unicode-bidi vector-effect
  visibility white-space word-spacing writing-mode`;

export const ATTRIBUTES = words(`${PROPERTIES}
  amplitude azimuth baseFrequency baseProfile bias class clipPathUnits contentScriptType contentStyleType crossorigin cx cy d desc
  diffuseConstant divisor download dx dy edgeMode elevation exponent externalResourcesRequired filterRes filterUnits focusable
  fr from fx fy glyphRef gradientTransform gradientUnits height href hreflang id in in2 intercept k1 k2 k3 k4 kernelMatrix
  kernelUnitLength keyPoints keySplines keyTimes lang lengthAdjust limitingConeAngle local markerHeight markerUnits markerWidth
  maskContentUnits maskUnits media method mode name numOctaves offset operator order orient origin path pathLength patternContentUnits
  patternTransform patternUnits points pointsAtX pointsAtY pointsAtZ preserveAlpha preserveAspectRatio primitiveUnits r radius refX refY
  rel rendering-intent requiredExtensions requiredFeatures requiredFormats requiredFonts result role rotate rx ry scale seed side slope
  spacing specularConstant specularExponent spreadMethod startOffset stdDeviation stitchTiles style surfaceScale systemLanguage
  tabindex tableValues target targetX targetY textLength title to type values version viewBox viewTarget width x x1 x2
  xChannelSelector xmlns y y1 y2 yChannelSelector z zoomAndPan`);

/** What places and shapes an element, of names too short to be told from others by their letters alone. */
export const GEOMETRY: Readonly<Record<string, readonly string[]>> = {
  path: ["d"],
  rect: ["x", "y", "rx", "ry"],
  circle: ["cx", "cy", "r"],
  ellipse: ["cx", "cy", "rx", "ry"],
  line: ["x1", "y1", "x2", "y2"],
  text: ["x", "y", "dx", "dy"],
  tspan: ["x", "y", "dx", "dy"],
  use: ["x", "y"],
  image: ["x", "y"],
  linearGradient: ["x1", "y1", "x2", "y2"],
  radialGradient: ["cx", "cy", "r", "fx", "fy", "fr"],
};

/** Whether one slip of the keyboard, or one byte, makes one of the other: a letter more, less, another, or two changed round. */
export const slipped = (a: string, b: string): boolean => {
  if (a === b || Math.abs(a.length - b.length) > 1) return false;
  let start = 0;
  while (start < a.length && start < b.length && a[start] === b[start]) start++;
  let end = 0;
  while (end < a.length - start && end < b.length - start && a[a.length - 1 - end] === b[b.length - 1 - end]) end++;
  const [left, right] = [a.slice(start, a.length - end), b.slice(start, b.length - end)];
  if (left.length <= 1 && right.length <= 1) return true;
  return left.length === 2 && right.length === 2 && left[0] === right[1] && left[1] === right[0];
};

/** Names shorter than this are near to too many others. */
export const SHORT = 4;

/** The known name that one slip away was meant; short ones are told by what the element lacks instead. */
export const nearest = (name: string, known: ReadonlySet<string>): string | undefined => {
  for (const one of known) if (one.length >= SHORT && slipped(name, one)) return one;
  return undefined;
};

/** The known name of which one letter is another here: `use` of `u:e`. */
export const sameButOne = (name: string, known: ReadonlySet<string>): string | undefined =>
  [...known].find((one) => one.length >= SHORT - 1 && one.length === name.length && slipped(name, one));
