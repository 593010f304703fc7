import type { Progress } from "@kitforme/run";
import { EXIT } from "../exit.ts";
import type { Outlet } from "../outlet.ts";
import { PHASES } from "../progress.ts";
import { keysOf } from "../queue/names.ts";
import { withRedis } from "../queue/redis.ts";
import { type OrderStatus, statusOf } from "../queue/status.ts";
import { countInWords, findingInWords } from "../words.ts";

export interface StatusOptions {
  readonly redis: string;
  readonly prefix: string;
}

/** Where orders are. 1 when the order asked for is not known here. */
export const status = async (order: string | undefined, options: StatusOptions, outlet: Outlet): Promise<number> => {
  const found = await withRedis(options.redis, (redis) => statusOf(redis, keysOf(options.prefix), order));
  for (const each of found) {
    outlet.event("order", each);
    outlet.tell(inWords(each, order !== undefined));
  }
  if (found.length > 0) return EXIT.done;
  outlet.tell(order === undefined ? "no orders" : `order ${order} is not known here`);
  return order === undefined ? EXIT.done : EXIT.input;
};

const inWords = ({ order, state, progress, trouble, answer }: OrderStatus, whole: boolean): string => {
  if (answer?.end === "made") return `${order}  made: ${answer.folder} (${countInWords(answer.findings)})`;
  if (answer?.end === "refused")
    return [
      `${order}  refused: ${countInWords(answer.findings)}`,
      ...(whole ? answer.findings.map((f) => `  ${findingInWords(f)}`) : []),
    ].join("\n");
  if (answer?.end === "failed") return `${order}  failed: ${answer.reason}`;
  if (state === "lost") return `${order}  lost on the way: submit it again`;
  if (state === "delayed") return `${order}  waiting for another try${trouble === undefined ? "" : `: ${trouble}`}`;
  return `${order}  ${state === "active" ? `being made${phase(progress)}` : "waiting"}`;
};

/** What came over the queue, perhaps from a worker of another version: nothing is taken for granted. */
const phase = (progress: unknown): string => {
  const { phase, done, of } = (typeof progress === "object" && progress !== null ? progress : {}) as Partial<Progress>;
  if (phase === undefined || !Object.hasOwn(PHASES, phase)) return "";
  return ` (${PHASES[phase]}${of ? `, ${done} of ${of}` : ""})`;
};
