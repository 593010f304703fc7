/** Where a finding was met. Everything that is known is filled in; `at` is millimetres in drawing coordinates. */
export interface Place {
  readonly order?: string;
  readonly line?: number;
  readonly kit?: string;
  readonly piece?: string;
  /** Left out: the front, or both. */
  readonly side?: "back";
  readonly slot?: string;
  /** Number of the copy in its line of the order, from 1. */
  readonly copy?: number;
  readonly operation?: string;
  readonly file?: string;
  readonly stock?: string;
  readonly sheet?: number;
  /** JSON path of the field, as in `pieces[0].slots[1].box`. */
  readonly field?: string;
  readonly at?: readonly [x: number, y: number];
}

/** One of several places of a finding; `message` where its numbers differ from those of the first. */
export interface FurtherPlace extends Place {
  readonly message?: string;
}

/** `error` stops the job, `warning` is printed and made all the same, `note` is for the record. */
export type Level = "error" | "warning" | "note";

/** A problem in the input: data, never an exception. The message says what is wrong with numbers, the hint what to do. */
export interface Finding {
  readonly level: Level;
  readonly rule: string;
  /** The first place it was met at. */
  readonly where: Place;
  /** Every place of this one cause, the first included, when there are several. */
  readonly places?: readonly FurtherPlace[];
  /** Places beyond those listed, counted only. */
  readonly more?: number;
  /** Small pictures that show it, where words are not enough. */
  readonly views?: readonly FindingView[];
  readonly message: string;
  readonly hint: string;
}

/** A picture that goes with a finding: what it shows, and a PNG in base64. */
export interface FindingView {
  readonly title: string;
  readonly png: string;
}

/** A value with the findings met on the way. `value` is absent when an error stands among them and nothing can be made. */
export interface Answer<T> {
  readonly value?: T;
  readonly findings: readonly Finding[];
}

/**
 * Whether an error stands among the findings: then nothing is made.
 *
 * @example
 * const { findings } = await check({ shop, orders: [order] }, kitsIn("kits"));
 * if (hasErrors(findings)) console.log("nothing would be made");
 */
export const hasErrors = (findings: readonly Finding[]): boolean => findings.some((f) => f.level === "error");
