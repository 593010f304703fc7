import { plain } from "./numbers.ts";
import { placesOf } from "./group-findings.ts";
import type { Finding, FurtherPlace, Place } from "./problem.ts";

/** As many places are named; the others are counted. */
const MOST_PLACES = 6;

const PARTS: readonly { readonly part: keyof Place; readonly words: (value: unknown) => string }[] = [
  { part: "file", words: String },
  { part: "order", words: (v) => `order ${String(v)}` },
  { part: "line", words: (v) => `line ${String(v)}` },
  { part: "kit", words: (v) => `kit ${String(v)}` },
  { part: "piece", words: (v) => `piece ${String(v)}` },
  { part: "side", words: (v) => `the ${String(v)}` },
  { part: "copy", words: (v) => `copy ${String(v)}` },
  { part: "slot", words: (v) => `slot ${String(v)}` },
  { part: "operation", words: String },
  { part: "stock", words: (v) => `stock ${String(v)}` },
  { part: "sheet", words: (v) => `sheet ${String(v)}` },
  { part: "field", words: String },
  { part: "at", words: (v) => `at ${(v as readonly number[]).map((n) => n.toFixed(1)).join(" / ")} mm` },
];

/**
 * A place in words, from the outside in: `kit lantern, piece wall, cutting, at 12.0 / 40.5 mm`. Empty where nothing is known.
 * The field of a JSON file is not among them: sentences about a field begin with it.
 */
export const placeInWords = ({ field: _field, ...where }: Place): string => inWords(where, {});

/** Without what is as in `known`. */
const inWords = (where: Place, known: Place): string =>
  plain(
    PARTS.filter(({ part }) => where[part] !== undefined && !same(where[part], known[part]))
      .map(({ part, words }) => words(where[part]))
      .join(", "),
  );

const same = (a: unknown, b: unknown): boolean => JSON.stringify(a) === JSON.stringify(b);

/**
 * Where else a finding was met, in words that leave out what the first place said already; empty for a finding of one place.
 * `also: piece card-02; piece card-03: Prints at 187 pixels per inch.; and 18 more places`
 */
export const furtherPlacesInWords = (finding: Finding, most = MOST_PLACES): string => {
  const [, ...further] = placesOf(finding);
  const named = further.slice(0, most).map((place) => placeAndNumbers(place, finding.where));
  const uncounted = further.length - named.length + (finding.more ?? 0);
  if (uncounted > 0) named.push(`and ${uncounted} more ${uncounted === 1 ? "place" : "places"}`);
  return named.length === 0 ? "" : `also: ${named.join("; ")}`;
};

const placeAndNumbers = (place: FurtherPlace, first: Place): string => {
  // A piece named again is easier to find than a point alone.
  const { piece: _piece, ...known } = first;
  const { field: _field, ...rest } = place;
  const words = inWords(place.message === undefined ? place : rest, known) || placeInWords(place);
  return place.message === undefined ? words : `${words}: ${plain(place.message)}`;
};
