// Every byte between the values of a drawing, names, quotes and brackets, changed to every other: the drawing is the same, or it
// is found. `npm run test:damage` takes every printable byte, the quick form the three that were silent once.
import { expect, it } from "vitest";
import { kitOf, svgMm } from "../support/kits.ts";

const CUT = svgMm(20, 20, '<rect id="cut" width="20" height="20"/>');
const ARTWORK = `<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="20mm" height="20mm" viewBox="0 0 20 20"><defs>
<linearGradient id="g" x1="0" y1="0" x2="1" y2="1"><stop offset="0" stop-color="#a00"/><stop offset="1"/></linearGradient>
<clipPath id="c"><rect x="1" y="1" width="9" height="9"/></clipPath><g id="s"><ellipse cx="9" cy="9" rx="2" ry="3"/></g></defs>
<g transform="translate(1 1)" fill="#c63d2b"><circle cx="5" cy="5" r="3.4" fill="#d4553c" /><path d="M1 1h9v9z" stroke-width="0.5"/>
<polygon points="1,1 5,1 5,9" style="fill:#0a0;opacity:.5"/><line x1="1" y1="1" x2="9" y2="9" stroke="#000"/><use xlink:href="#s" x="2" y="2"/>
<rect x="2" y="12" width="5" height="3" rx="1" ry="1" fill="url(#g)" clip-path="url(#c)"/></g></svg>`;
/** A name of a namespace that nobody uses, as one byte makes of `xmlns:xlink`, changes nothing that is drawn. */
const LOST_DECLARATION = ARTWORK.indexOf(":xlink=");

const readWith = async (artwork: Uint8Array) => {
  const drawn = { file: "a.svg", box: [0, 0, 20, 20] };
  const piece = { piece: "p", drawing: "cut.svg", stock: "card", lines: { cutting: "#cut" }, artwork: drawn };
  const { value, findings } = await kitOf({ kit: "k", pieces: [piece] }, { "cut.svg": CUT, "a.svg": artwork });
  return {
    artwork: value && JSON.stringify(value.pieces[0]?.artwork),
    faults: findings.filter(({ level }) => level !== "note"),
  };
};

/** Whether a place in the text is neither in a value nor in the text between elements. */
const isStructure = (at: number): boolean => {
  const open = ARTWORK.lastIndexOf("<", at);
  const inTag = open > ARTWORK.lastIndexOf(">", at - 1);
  return inTag && (ARTWORK.slice(open, at).split('"').length - 1) % 2 === 0;
};

const PRINTABLE = Array.from({ length: 95 }, (_, i) => String.fromCharCode(32 + i)).join("");
const BYTES = Buffer.from(process.env["KITFORME_DAMAGE"] === "long" ? `\t\n${PRINTABLE}é` : " :d", "latin1");

it("a drawing with one byte changed between its values is the same, or found", async () => {
  const whole = await readWith(Buffer.from(ARTWORK));
  expect(whole.faults).toEqual([]);
  const silent: string[] = [];
  let found = 0;
  for (let at = 0; at < ARTWORK.length; at++) {
    if (!isStructure(at) || at === LOST_DECLARATION) continue;
    for (const byte of BYTES) {
      const damaged = Buffer.from(ARTWORK);
      if (damaged[at] === byte) continue;
      damaged[at] = byte;
      const { artwork, faults } = await readWith(damaged);
      if (artwork === undefined || faults.length > 0) found++;
      else if (artwork !== whole.artwork) silent.push(damaged.toString("latin1", at - 12, at + 12));
    }
  }
  expect(silent).toEqual([]);
  expect(found).toBeGreaterThan(1000);
}, 1_200_000);
