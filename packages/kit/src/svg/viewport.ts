import type { Matrix } from "@kitforme/geometry";

export interface ViewBox {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

const NUMBERS = /^\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(?:\s*,\s*|\s+|(?=[+-.]))([^]*)$/;

/** A viewBox as written; undefined when it is none (SVG 1.1, 7.7: negative sizes are errors, 0 draws nothing). */
export const parseViewBox = (text: string): ViewBox | undefined => {
  const numbers: number[] = [];
  let rest = `${text.trim()} `;
  while (rest.trim() !== "") {
    const match = NUMBERS.exec(rest);
    if (!match || numbers.length === 4) return undefined;
    numbers.push(Number(match[1]));
    rest = match[2] ?? "";
  }
  const [x, y, width, height] = numbers;
  if (x === undefined || y === undefined || width === undefined || height === undefined) return undefined;
  return numbers.every(Number.isFinite) && width > 0 && height > 0 ? { x, y, width, height } : undefined;
};

export interface Fit {
  readonly align: "none" | readonly [x: 0 | 0.5 | 1, y: 0 | 0.5 | 1];
  readonly slice: boolean;
}

export const DEFAULT_FIT: Fit = { align: [0.5, 0.5], slice: false };
const STEPS = { Min: 0, Mid: 0.5, Max: 1 } as const;

/** A preserveAspectRatio as written; undefined when it is none. `defer` is read over, as it only concerns pictures. */
export const parseFit = (text: string): Fit | undefined => {
  const match = /^\s*(?:defer\s+)?(none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:\s+(meet|slice))?\s*$/.exec(text);
  if (!match) return undefined;
  const slice = match[4] === "slice";
  if (match[1] === "none") return { align: "none", slice };
  return { align: [STEPS[match[2] as keyof typeof STEPS], STEPS[match[3] as keyof typeof STEPS]], slice };
};

/** The matrix that lays a viewBox into a viewport at (x, y) of width x height (SVG 1.1, 7.8; CSS sizing of viewports). */
export const fitMatrix = (box: ViewBox, fit: Fit, x: number, y: number, width: number, height: number): Matrix => {
  let sx = width / box.width;
  let sy = height / box.height;
  if (fit.align === "none") return [sx, 0, 0, sy, x - box.x * sx, y - box.y * sy];
  sx = sy = fit.slice ? Math.max(sx, sy) : Math.min(sx, sy);
  const [ax, ay] = fit.align;
  return [
    sx,
    0,
    0,
    sy,
    x + ax * (width - box.width * sx) - box.x * sx,
    y + ay * (height - box.height * sy) - box.y * sy,
  ];
};
