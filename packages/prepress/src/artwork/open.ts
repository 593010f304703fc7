import type { Artwork, Press } from "@kitforme/kit";
import type { ResolutionLimits } from "./check-resolution.ts";
import { openDrawing } from "./drawing.ts";
import type { Opened, Window } from "./opened.ts";
import { openPage } from "./page.ts";
import { openPicture } from "./picture.ts";
import type { Report } from "./report.ts";

/** Opens any artwork within the window, in the colours of the press. `undefined` when the report has the reason. */
export async function openArtwork(
  artwork: Artwork,
  press: Press,
  window: Window,
  {
    resolution: limits,
    ...how
  }: { readonly resolution: ResolutionLimits; readonly vectors: boolean; readonly twice: boolean },
  report: Report,
): Promise<Opened | undefined> {
  if (artwork.kind === "drawing")
    return openDrawing({ ...artwork, beyond: true, ...how, parts: artwork }, press, window, report);
  if (artwork.format === "svg") {
    return openDrawing(
      { svg: textOf(artwork.bytes), box: artwork.box, beyond: false, ...how, parts: artwork },
      press,
      window,
      report,
    );
  }
  return artwork.format === "pdf"
    ? openPage(artwork, press, window, limits, report)
    : openPicture(artwork, press, window, limits, report);
}

/** XML text in the encoding it declares; UTF-8 without a word, or with a word that means nothing. */
const textOf = (bytes: Uint8Array): string => {
  const head = Buffer.from(bytes.subarray(0, 200)).toString("latin1");
  const label = /^(?:\xef\xbb\xbf)?<\?xml[^>]*\sencoding\s*=\s*["']([\w.:-]+)["']/.exec(head)?.[1];
  try {
    return new TextDecoder(label).decode(bytes);
  } catch {
    return new TextDecoder().decode(bytes);
  }
};
