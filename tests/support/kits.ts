// Kits in a line or two, for tests that are about one drawing.
import { type Finding, type Line, type Piece, readKit } from "@kitforme/kit";

export const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

/** A kit handed in as an object and files by name. */
export const kitOf = (kit: unknown, files: Readonly<Record<string, string | Uint8Array>>) => {
  const asked: string[] = [];
  return readKit({
    folder: "k",
    text: typeof kit === "string" ? kit : JSON.stringify(kit),
    read: (path) => {
      asked.push(path);
      const file = Object.hasOwn(files, path) ? files[path] : undefined;
      return Promise.resolve(typeof file === "string" ? bytes(file) : file);
    },
  }).then((answer) => ({ ...answer, asked }));
};

export interface Read {
  readonly piece: Piece | undefined;
  readonly lines: readonly Line[];
  readonly findings: readonly Finding[];
  readonly rules: readonly string[];
}

/** One piece from one drawing; `#cut` is cut unless told otherwise. */
export const pieceOf = async (svg: string, more: Readonly<Record<string, unknown>> = {}): Promise<Read> => {
  const form = { piece: "p", drawing: "p.svg", stock: "card", lines: { cutting: "#cut" }, ...more };
  const { value, findings } = await kitOf({ kit: "k", pieces: [form] }, { "p.svg": svg });
  const piece = value?.pieces[0];
  return { piece, lines: piece?.lines ?? [], findings, rules: findings.map((f) => f.rule) };
};

/** A drawing of `width` x `height` mm whose user unit is a millimetre. */
export const svgMm = (width: number, height: number, inner: string): string =>
  `<svg xmlns="http://www.w3.org/2000/svg" width="${width}mm" height="${height}mm" viewBox="0 0 ${width} ${height}">${inner}</svg>`;

/** The points of a line as [x, y] in millimetres. */
export const dots = (line: Line | undefined): [number, number][] =>
  (line?.points ?? []).map((p) => [p.x / 1000, p.y / 1000]);
