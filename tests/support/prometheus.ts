// Pages of metrics read by another's parser of the Prometheus text format: parse-prometheus-text-format (npm), which brings no types.
import { createRequire } from "node:module";

/** One metric: its type, and its values by their labels. */
export interface Family {
  readonly name: string;
  readonly help: string;
  readonly type: "COUNTER" | "GAUGE" | "HISTOGRAM" | "SUMMARY" | "UNTYPED";
  readonly metrics: readonly {
    readonly labels?: Readonly<Record<string, string>>;
    readonly value?: string;
    readonly buckets?: Readonly<Record<string, string>>;
    readonly count?: string;
    readonly sum?: string;
  }[];
}

const parse = createRequire(import.meta.url)("parse-prometheus-text-format") as (text: string) => Family[];

/** The metrics of a page by their names. */
export const familiesOf = (page: string): ReadonlyMap<string, Family> =>
  new Map(parse(page).map((family) => [family.name, family]));

/** The value of a metric with these labels; undefined when the page has none. */
export const valueOf = (
  page: ReadonlyMap<string, Family>,
  name: string,
  labels: Readonly<Record<string, string>> = {},
): number | undefined => {
  const same = (own: Readonly<Record<string, string>> = {}): boolean =>
    Object.entries(labels).every(([label, value]) => own[label] === value);
  const found = page.get(name)?.metrics.find((metric) => same(metric.labels));
  return found && Number(found.value ?? found.count);
};
