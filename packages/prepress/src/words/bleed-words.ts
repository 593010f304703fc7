import { inFigures, note, sayer, warning, type Words } from "@kitforme/kit/findings";

interface BleedFacts {
  /** No ink reaches the cut. `gap` in mm. */
  "artwork-inside": { readonly gap: number };
  /** Ink reaches the cut here and not there. Lengths in mm. */
  "artwork-short": {
    readonly gap: number;
    readonly paper: number;
    readonly length: number;
    readonly stretches: number;
  };
  "artwork-blank": { readonly slots: boolean; readonly inside: boolean };
  /** Own bleed of another colour than at the cut. Lengths in mm; `off`: how far beyond the cut it begins, negative inside. */
  "bleed-other-colour": {
    readonly along: number;
    readonly length: number;
    readonly stretches: number;
    readonly inside: string;
    readonly beyond: string;
    readonly off: number;
    readonly bleed: number;
  };
}

const long = (mm: number): string => mm.toFixed(mm < 10 ? 1 : 0);
/** Distances that pixels blur are not named. */
const NAMED = 0.15;
const atCut = (off: number): string =>
  Math.abs(off) < NAMED
    ? "right at the cut"
    : `${Math.abs(off).toFixed(1)} mm ${off < 0 ? "inside" : "beyond"} the cut`;
const whenOff = (off: number): string =>
  off <= -NAMED
    ? "a line of it shows even where the cut is right"
    : `a cut that is off by ${off < NAMED ? "half a millimetre" : "more than that"} shows a line of it`;

/** What making bleed finds out about a piece. */
const BLEED_WORDS: Words<BleedFacts> = {
  "artwork-inside": ({ gap }) =>
    note(
      `The artwork ends more than ${gap} mm inside the cut all round: the edge of the piece is paper, and so is its bleed`,
      "Nothing to do if the paper is meant to show; else draw the artwork to 3 mm beyond the cut",
    ),
  "artwork-short": ({ gap, paper, length, stretches }) =>
    warning(
      `The artwork ends more than ${gap} mm inside the cut along ${long(paper)} of ${long(length)} mm${
        stretches > 1 ? `, in ${stretches} stretches` : ""
      }: paper shows there, and is the bleed`,
      'Draw the artwork to 3 mm beyond the cut, or leave it if the paper is meant to show; "gap" of the piece says what is carried out to the cut',
    ),
  "artwork-blank": ({ slots, inside }) =>
    inside
      ? warning(
          "Nothing is printed inside the outline: no bleed can be made",
          "Check that the artwork lies on the piece",
        )
      : slots
        ? note("Nothing but texts is printed", 'Set "artwork" to null if that is meant')
        : warning(
            "Nothing is printed on this piece: the artwork paints nothing near it",
            'Set "artwork" to null if that is meant',
          ),
  "bleed-other-colour": ({ along, length, stretches, inside, beyond, off, bleed }) =>
    warning(
      `The bleed that is drawn has another colour than the artwork inside along ${long(along)} of ${long(length)} mm of the cut${
        stretches > 1 ? `, in ${stretches} stretches` : ""
      }: ${inside} inside, ${beyond} from ${atCut(off)} on; ${whenOff(off)}`,
      `Draw the artwork ${inFigures(bleed)} mm beyond the cut, or leave nothing drawn there (clipped or cropped at the cut, transparent beyond it): the bleed is then made from the colours at the cut. Leave it if two colours are meant to meet at the cut`,
    ),
};

/** Makes a finding about the bleed of a piece. */
export const say = sayer(BLEED_WORDS);
