// One drawing of other hands as the artwork of a card, through the kit and prepress as a run does it.
import { type Finding, type Press, readKit } from "@kitforme/kit";
import { type Layer, prepare } from "@kitforme/prepress";

/** Pixels per inch the card is printed at; low, for speed. */
export const RESOLUTION = 96;
const PRESS: Press = {
  name: "press",
  margins: { top: 5000, right: 5000, bottom: 5000, left: 5000 },
  resolution: RESOLUTION,
  bleed: 0,
  colour: "rgb",
  register: 500,
};

export interface Made {
  readonly findings: readonly Finding[];
  /** Undefined when the drawing was refused. */
  readonly layers?: readonly Layer[];
}

/** Millimetres of paper around the artwork: what is drawn at its edge is then drawn on no cut, where bleed would be made. */
export const MARGIN = 5;

/** A card with the file as its artwork, drawn at this size in millimetres. */
export const makeCard = async (
  file: string,
  bytes: Uint8Array,
  width: number,
  height: number,
  more: { readonly fonts?: readonly string[]; readonly files?: Readonly<Record<string, Uint8Array>> } = {},
): Promise<Made> => {
  const [wide, high] = [width + 2 * MARGIN, height + 2 * MARGIN];
  const cut = `<svg xmlns="http://www.w3.org/2000/svg" width="${wide}mm" height="${high}mm" viewBox="0 0 ${wide} ${high}"><rect id="cut" width="${wide}" height="${high}"/></svg>`;
  const kit = {
    kit: "k",
    ...(more.fonts ? { fonts: more.fonts } : {}),
    pieces: [
      {
        piece: "p",
        drawing: "cut.svg",
        stock: "card",
        lines: { cutting: "#cut" },
        bleed: 0,
        artwork: { file, box: [MARGIN, MARGIN, width, height] },
      },
    ],
  };
  const files: Record<string, Uint8Array> = { ...more.files, [file]: bytes, "cut.svg": new TextEncoder().encode(cut) };
  const read = await readKit({
    folder: "k",
    text: JSON.stringify(kit),
    read: (path) => Promise.resolve(Object.hasOwn(files, path) ? files[path] : undefined),
  });
  const piece = read.value?.pieces[0];
  if (!piece) return { findings: read.findings };
  const prepared = await prepare(piece, PRESS);
  const findings = [...read.findings, ...prepared.findings];
  return prepared.value ? { findings, layers: prepared.value.layers } : { findings };
};
