import { note, sayer, warning, type Words } from "@kitforme/kit/findings";

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
}

const long = (mm: number): string => mm.toFixed(mm < 10 ? 1 : 0);

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
};

/** Makes a finding about the bleed of a piece. */
export const say = sayer(BLEED_WORDS);
