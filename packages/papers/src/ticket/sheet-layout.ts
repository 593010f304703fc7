import { placedBounds } from "@kitforme/geometry";
import type { Placed, Sheet, Waste } from "@kitforme/sheet";
import { type Element, element } from "./xml.ts";
import { box, pair, upright } from "./points.ts";
import { type Names, placeName, shareKey } from "./names.ts";

/**
 * One sheet: its places, what is printed at each with the matrix from the piece's drawing to the sheet, and the marks for the
 * cutter's camera. Placed objects are the front's and count from 0 in the sequence of the places' numbers; the back of a place is
 * behind it.
 */
export const sheetLayout = (sheet: Sheet, paper: string, { shares }: Names): Element =>
  element(
    "Layout",
    {
      PaperRef: paper,
      SurfaceContentsBox: box({ x: 0, y: 0, width: sheet.width, height: sheet.height }),
      WorkStyle: sheet.back ? "WorkAndBack" : "Simplex",
    },
    [
      ...sheet.placed.map(({ number, prepared, matrix, serves }) => {
        const [first] = serves;
        return element("Position", {
          AbsoluteBox: box(placedBounds(matrix, prepared.piece.parts)),
          BinderySignatureID: placeName(sheet.sheet, number),
          BlockName: placeName(sheet.sheet, number),
          // The order that has the place first; all of them are among the gang's sources.
          GangElementID: first && shares.get(shareKey(first.order, prepared.piece))?.id,
        });
      }),
      ...sheet.placed.map(placedObject),
      ...sheet.marks.map(({ at, size }) =>
        element(
          "PlacedObject",
          {
            CTM: `1 0 0 1 ${pair(at.x - size / 2, at.y - size / 2)}`,
            TrimSize: pair(size, size),
          },
          [element("MarkObject", {}, [element("RegisterMark", { Center: pair(at.x, at.y) })])],
        ),
      ),
      ...(sheet.waste?.placed ?? []).flatMap(wasteObject),
    ],
  );

/** Register targets and the colour bar; XJDF has no name for a ruler (attributes from memory). */
const wasteObject = ({ item, box: { x, y, width, height } }: Waste["placed"][number]): Element[] => {
  if (item === "scaleBar") return [];
  const what = item === "colourBar" ? "ColorControlStrip" : "RegisterMark";
  const mark = element(what, { Center: pair(x + width / 2, y + height / 2) });
  return [
    element("PlacedObject", { CTM: `1 0 0 1 ${pair(x, y)}`, TrimSize: pair(width, height) }, [
      element("MarkObject", {}, [mark]),
    ]),
  ];
};

const placedObject = ({ number, prepared: { piece, reach }, matrix }: Placed): Element => {
  const ctm = upright(matrix, piece.size.height);
  return element(
    "PlacedObject",
    {
      CTM: ctm,
      ClipBox: box(placedBounds(matrix, reach)),
      Ord: number - 1,
      TrimCTM: ctm,
      TrimSize: pair(piece.size.width, piece.size.height),
    },
    [element("ContentObject")],
  );
};

/** Which order is where on a sheet, and how many copies of the run are its. */
export const sources = (sheet: Sheet): Element =>
  element(
    "NodeInfo",
    { Status: "Waiting" },
    sheet.placed.flatMap(({ number, serves }) =>
      serves.map(({ order, first, last }) =>
        element("GangSource", {
          BinderySignatureID: placeName(sheet.sheet, number),
          Copies: last - first + 1,
          JobID: order,
        }),
      ),
    ),
  );
