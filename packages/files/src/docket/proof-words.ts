import { decimal } from "../decimal.ts";
import type { SheetProof } from "../prove/prove-sheet.ts";

const mm = (um: number, places = 1): string => decimal(um / 1000, places);

/** Down to what is certain: a distance that holds is never said larger than it was found. */
const least = (um: number): string => mm(Math.floor(um / 100) * 100);

/** Up to what is certain, and never nothing: no sight is that exact. */
const most = (um: number): string => mm(Math.max(10, Math.ceil(um / 10) * 10), 2);

const MOVED = { shift: "shifted", turn: "turned", stretch: "stretched" } as const;

/** How the written files of a sheet stood their proof, in sentences for the docket. */
export const proofWords = ({ level, worst, within, unmeasured }: SheetProof): string[] => {
  const { paper, text, print, cut, mark, code } = worst;
  const poses = Object.entries(within ?? {}).map(
    ([kind, um]) => `${MOVED[kind as keyof typeof MOVED]} ${least(um as number)} mm`,
  );
  const off = [
    `cut files follow the drawing within ${most(cut)} mm`,
    ...(mark === undefined ? [] : [`marks are printed within ${most(mark)} mm of their places`]),
    ...(code === undefined ? [] : [`the code within ${most(code)} mm`]),
    ...(print === undefined ? [] : [`pieces within ${most(print)} mm`]),
  ];
  return [
    ...(paper === undefined ? [] : [`Paper would show beyond ${least(paper)} mm between print and cut.`]),
    ...(text === undefined ? [] : [`A text would be touched beyond ${least(text)} mm.`]),
    ...(poses.length === 0
      ? []
      : [`Neither shows while the print is ${joined(poses, "or")} at the sheet's corner, one at a time.`]),
    `Tried (${level}): ${joined(off, "and")}.`,
    ...(unmeasured
      ? [
          `The place of ${unmeasured === 1 ? "1 print" : `${unmeasured} prints`} cannot be measured: too pale, too soft or bare at the edge. The marks hold for ${unmeasured === 1 ? "it" : "them"}.`,
        ]
      : []),
  ];
};

const joined = (parts: readonly string[], word: string): string =>
  parts.length < 2 ? parts.join("") : `${parts.slice(0, -1).join(", ")} ${word} ${parts.at(-1)}`;

/** The worst of several sheets, for a page that stands for all of them. */
export const worstProof = (proofs: readonly SheetProof[]): SheetProof | undefined => {
  const [first] = proofs;
  if (!first) return undefined;
  const of = <K extends string>(
    all: readonly (Readonly<Partial<Record<K, number>>> | undefined)[],
    keys: readonly K[],
    pick: (a: number, b: number) => number,
  ): Partial<Record<K, number>> =>
    Object.fromEntries(
      keys.flatMap((key) => {
        const found = all.flatMap((one) => one?.[key] ?? []);
        return found.length === 0 ? [] : [[key, found.reduce((a, b) => pick(a, b))]];
      }),
    ) as Partial<Record<K, number>>;
  const worst = proofs.map((p) => p.worst);
  const within = of(
    proofs.map((p) => p.within),
    ["shift", "turn", "stretch"],
    Math.min,
  );
  const unmeasured = proofs.reduce((sum, p) => sum + (p.unmeasured ?? 0), 0);
  return {
    level: first.level,
    worst: {
      ...of(worst, ["paper", "text"], Math.min),
      ...of(worst, ["print", "mark", "code"], Math.max),
      cut: Math.max(...worst.map(({ cut }) => cut)),
    },
    ...(Object.keys(within).length > 0 ? { within } : {}),
    ...(unmeasured > 0 ? { unmeasured } : {}),
  };
};
