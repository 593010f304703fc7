import type { OrderStatus } from "@kitforme/queue";
import type { Progress } from "@kitforme/run";
import { PHASES } from "./progress.ts";
import { countInWords, findingsInWords } from "./words.ts";

/** Where an order is, as a line; `whole`: with its findings, and when it came into each state. */
export const orderInWords = (status: OrderStatus, whole: boolean): string => {
  const { order, answer, times } = status;
  const lines = [`${order}  ${stateInWords(status)}`];
  if (whole && answer?.end === "refused") lines.push(...findingsInWords(answer.findings).map((words) => `  ${words}`));
  if (whole && status.again)
    lines.push(
      status.again.kind === "reprint"
        ? `  prints order ${status.again.order} of job ${status.again.job} again`
        : `  makes spoiled pieces of job ${status.again.job} anew: ${status.again.spoiled?.join(", ")}`,
    );
  else if (whole && status.why && answer?.end !== "refused") lines.push(`  ganged: ${status.why}`);
  if (whole) for (const [state, time] of Object.entries(times)) lines.push(`  ${time}  ${WORDS[state] ?? state}`);
  return lines.join("\n");
};

/** Each state in words. */
export const WORDS: Readonly<Record<string, string>> = {
  received: "received",
  checked: "checked",
  waiting: "waiting for its gang",
  ganged: "ganged, waiting for a worker",
  making: "being made",
  made: "made",
  refused: "refused",
  failed: "failed",
  cancelled: "cancelled",
};

const stateInWords = ({ state, waits, progress, trouble, answer }: OrderStatus): string => {
  if (answer?.end === "made") return `made: ${answer.folder} (${countInWords(answer.findings)})`;
  if (answer?.end === "refused") return `refused: ${countInWords(answer.findings)}`;
  if (answer?.end === "failed") return `failed: ${answer.reason}`;
  if (state === "waiting" && waits) return waitInWords(waits);
  if (trouble !== undefined)
    return state === "making"
      ? `being made, waits until this is over: ${trouble}`
      : `waiting for another try: ${trouble}`;
  return `${WORDS[state]}${state === "making" ? phase(progress) : ""}`;
};

const waitInWords = ({ sheets, until }: NonNullable<OrderStatus["waits"]>): string => {
  const at = new Date(until);
  const two = (n: number): string => String(n).padStart(2, "0");
  const time = `${two(at.getHours())}:${two(at.getMinutes())}`;
  const day =
    at.toDateString() === new Date().toDateString()
      ? ""
      : `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} `;
  return sheets > 0
    ? `waits for ${sheets < 0.1 ? sheets : sheets.toFixed(1)} ${sheets > 1 ? "sheets" : "of a sheet"}, at the latest ${day}${time}`
    : `waits for a worker to be free, at the latest ${day}${time}`;
};

/** What came over the queue, perhaps from a worker of another version: nothing is taken for granted. */
const phase = (progress: unknown): string => {
  const { phase, done, of } = (typeof progress === "object" && progress !== null ? progress : {}) as Partial<Progress>;
  if (phase === undefined || !Object.hasOwn(PHASES, phase)) return "";
  return ` (${PHASES[phase]}${of ? `, ${done} of ${of}` : ""})`;
};
