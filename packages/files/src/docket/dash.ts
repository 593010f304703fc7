import { mm } from "@kitforme/geometry";
import type { Operation } from "@kitforme/kit";
import { LEGEND } from "../legend.ts";
import { pt } from "../pdf/content.ts";

/** Dashes on paper, as a share of their length on a sheet: pictures are small. */
const DASH = 0.4;

/** An operation's dashes as a PDF dash array for paper drawn at this scale. */
export const dashOf = (operation: Operation, scale = 1): string =>
  `[${LEGEND[operation].dash.map((length) => pt((mm(length) * DASH) / scale)).join(" ")}] 0 d`;
