import { furtherPlacesInWords, type Level, placeInWords, plain } from "@kitforme/kit";
import { type Flaw, LEVEL_COLOURS } from "./flaw.ts";

/** A piece with the findings about it. */
export interface FlawedPiece {
  readonly piece: string;
  readonly flaws: readonly Flaw[];
  /** PNG bytes with the numbers in it; absent where it has no findings or cannot be drawn. */
  readonly picture?: Uint8Array;
}

/** A kit with all its findings, for the page that shows them at their places. */
export interface FlawsPage {
  readonly kit: string;
  readonly pieces: readonly FlawedPiece[];
  /** Findings about the shop or the kit as a whole. */
  readonly rest: readonly Flaw[];
}

const escaped = (text: string): string => plain(text).replace(/[&<>"']/g, (c) => `&#${c.charCodeAt(0)};`);
const base64 = (bytes: Uint8Array): string => Buffer.from(bytes).toString("base64");

/** Places of one finding that the page names; the rest are in the picture and counted. */
const MOST_PLACES = 24;

const STYLE = `
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; font: 1rem/1.5 system-ui, sans-serif; color: #1d1d1d; background: #ffffff; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; line-height: 1.25; margin: 0 0 .5rem; }
h2 { font-size: 1.2rem; margin: 2.5rem 0 .5rem; padding-top: 1rem; border-top: 1px solid #cfcac0; }
img { display: block; max-width: 100%; height: auto; }
figure { margin: 0 0 1rem; }
ol { list-style: none; margin: 0; padding: 0; }
li { display: grid; grid-template-columns: 2.4rem minmax(0, 1fr); gap: .75rem; margin: 1rem 0; }
li p { margin: .15rem 0; }
.number { width: 2.4rem; height: 2.4rem; line-height: 2.4rem; border-radius: 50%; text-align: center; color: #ffffff; font-weight: 600; }
.head { font-weight: 600; }
.hint, .also { color: #4a4a4a; }
.views { display: flex; flex-wrap: wrap; gap: .75rem; }
.views figure { margin: .25rem 0; }
${(["error", "warning", "note"] as const).map((level) => `.${level} .number { background: ${LEVEL_COLOURS[level]}; } .${level} .head { color: ${LEVEL_COLOURS[level]}; }`).join("\n")}
`;

/** One HTML page of every finding of a kit, with its pictures inside: no script, no other file, no network. */
export const flawsPage = ({ kit, pieces, rest }: FlawsPage): string => {
  const title = `Findings of kit ${escaped(kit)}`;
  const numbers = new Map([...rest, ...pieces.flatMap(({ flaws }) => flaws)].map((f) => [f.number, f.finding.level]));
  const without = pieces.filter(({ flaws }) => flaws.length === 0).map(({ piece }) => escaped(piece));
  return [
    `<!DOCTYPE html>`,
    `<html lang="en">`,
    `<head>`,
    `<meta charset="utf-8">`,
    `<meta name="viewport" content="width=device-width, initial-scale=1">`,
    `<meta http-equiv="Content-Security-Policy" content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">`,
    `<title>${title}</title>`,
    `<style>${STYLE}</style>`,
    `</head>`,
    `<body>`,
    `<h1>${title}</h1>`,
    `<p>${countOf([...numbers.values()])}. Places are millimetres from the top left corner of the drawing.</p>`,
    ...(rest.length > 0 ? [`<section>`, `<h2>The kit as a whole</h2>`, ...listOf(rest, undefined), `</section>`] : []),
    ...pieces.filter(({ flaws }) => flaws.length > 0).flatMap(sectionOf),
    ...(without.length > 0 ? [`<h2>Pieces without findings</h2>`, `<p>${without.join(", ")}</p>`] : []),
    `</body>`,
    `</html>`,
    ``,
  ].join("\n");
};

const countOf = (levels: readonly Level[]): string => {
  const counts = (["error", "warning", "note"] as const).flatMap((level) => {
    const n = levels.filter((one) => one === level).length;
    return n === 0 ? [] : [`${n} ${level}${n === 1 ? "" : "s"}`];
  });
  return counts.length > 0 ? counts.join(", ") : "No findings";
};

const sectionOf = ({ piece, flaws, picture }: FlawedPiece): string[] => [
  `<section>`,
  `<h2>${escaped(piece)}</h2>`,
  picture
    ? `<figure><img alt="${escaped(piece)} with the numbers of its findings" src="data:image/png;base64,${base64(picture)}"></figure>`
    : `<p>The piece could not be drawn.</p>`,
  ...listOf(flaws, piece),
  `</section>`,
];

const listOf = (flaws: readonly Flaw[], piece: string | undefined): string[] => [
  `<ol>`,
  ...flaws.map(({ number, finding }) => {
    const { level, rule, where, message, hint, views = [] } = finding;
    const { kit: _kit, piece: named, ...rest } = where;
    const place = placeInWords(named === piece ? rest : { ...rest, ...(named === undefined ? {} : { piece: named }) });
    const also = furtherPlacesInWords(finding, MOST_PLACES);
    return [
      `<li class="${level}"><div class="number">${number}</div><div>`,
      `<p class="head">${level}: ${escaped(rule)}${place ? ` (${escaped(place)})` : ""}</p>`,
      `<p>${escaped(message)}</p>`,
      ...(also ? [`<p class="also">${escaped(also)}</p>`] : []),
      ...(hint ? [`<p class="hint">${escaped(hint)}</p>`] : []),
      ...(views.length > 0
        ? [
            `<div class="views">${views.map((v) => `<figure><img alt="${escaped(v.title)}" src="data:image/png;base64,${escaped(v.png)}"><figcaption>${escaped(v.title)}</figcaption></figure>`).join("")}</div>`,
          ]
        : []),
      `</div></li>`,
    ].join("\n");
  }),
  `</ol>`,
];
