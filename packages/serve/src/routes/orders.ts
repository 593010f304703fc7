import { badName, hasErrors, keysTwice, readOrderForm, say as sayOfForm, parseJson } from "@kitforme/kit";
import {
  type AgainHow,
  cancelOrder,
  countsOf,
  freezeTogether,
  type OrderStatus,
  printAgain,
  retryOrder,
  type State,
  statusOf,
  type StatusQuery,
  type Submission,
  submitOrders,
} from "@kitforme/queue";
import type { Finding } from "@kitforme/run";
import { Problem } from "../problem.ts";
import type { Context } from "../settings.ts";
import { say } from "../words.ts";
import type { picturesOf } from "./pictures.ts";

export interface HowAsked {
  readonly now: boolean;
  readonly change: boolean;
}

export interface SubmittedBody {
  readonly orders: readonly { readonly order: string; readonly fresh: boolean }[];
  readonly findings: readonly Finding[];
}

const MOST_ORDERS = 1_000;

/** An order's status. Throws 404. */
export const statusNamed = async ({ redis, keys, plans }: Context, order: string): Promise<OrderStatus> => {
  const [status] = await statusOf(redis, keys, { order: order.normalize("NFC") }, plans);
  if (!status) throw new Problem(404, "Nobody here knows this order.");
  return status;
};

/** Orders onto the queue and asking about them. */
export const ordersOf = (at: Context, pictures: ReturnType<typeof picturesOf>) => {
  const { redis, keys, settings, house, plans } = at;
  const freeze = freezeTogether(house);

  const submit = async (
    texts: readonly (readonly [file: string, text: string])[],
    how: HowAsked,
    met: readonly Finding[] = [],
    path?: string,
  ): Promise<SubmittedBody> => {
    const findings: Finding[] = [...met];
    const submissions: Submission[] = [];
    for (const [file, text] of texts) {
      const { value, findings: ofForm } = readOrderForm({ file, text });
      findings.push(...ofForm);
      if (!value) continue;
      const where = { order: value.order, file };
      if (path !== undefined && path !== value.order)
        findings.push(say("order-name-differs", where, { path, order: value.order }));
      for (const picture of namedPictures(value))
        if (!(await pictures.has(picture))) findings.push(say("order-picture-unsent", where, { picture }));
      submissions.push({ name: value.order, file, text, content: value, beside: pictures.beside });
    }
    if (hasErrors(findings)) throw new Problem(422, "Nothing was put on the queue.", { findings });
    const submitted = await submitOrders(redis, keys, submissions, {
      effort: settings.effort,
      ...how,
      house,
      freeze,
    });
    if (submitted.findings.length > 0)
      throw new Problem(409, "Nothing was put on the queue.", { findings: submitted.findings });
    return { orders: submitted.orders, findings };
  };

  return {
    put: (order: string, text: string, how: HowAsked): Promise<SubmittedBody> => {
      const name = order.normalize("NFC");
      return submit([[`${name}.json`, text]], how, [], name);
    },
    post: (text: string, how: HowAsked): Promise<SubmittedBody> => {
      const parsed = parseJson(text);
      const many = "value" in parsed && (parsed.value as { orders?: unknown } | null)?.orders;
      if (!Array.isArray(many)) return submit([["order.json", text]], how);
      if (many.length === 0 || many.length > MOST_ORDERS)
        throw new Problem(400, `orders: 1 to ${MOST_ORDERS} are taken at once; there are ${many.length}.`);
      // Each is written anew below, where a name that stood twice in one object would be lost without a word.
      const twice = keysTwice(text.replace(/^\ufeff/, "")).map((key) =>
        sayOfForm("field-twice", { file: "orders.json", field: key.field }, key),
      );
      return submit(
        many.map((order: unknown, i) => [`orders[${i}]`, JSON.stringify(order)]),
        how,
        twice,
      );
    },
    list: async (query: { readonly state?: readonly State[]; readonly limit: number; readonly skip: number }) => {
      const { state, limit, skip } = query;
      // One more than asked for: whether there is a next page.
      const asked: StatusQuery = { ...(state ? { states: [...new Set(state)] } : {}), limit: limit + 1, skip };
      const [orders, { counts, trouble }] = await Promise.all([
        statusOf(redis, keys, asked, plans),
        countsOf(redis, keys),
      ]);
      return {
        orders: orders.slice(0, limit),
        counts,
        ...(trouble === undefined ? {} : { trouble }),
        ...(orders.length > limit ? { next: skip + limit } : {}),
      };
    },
    status: (order: string): Promise<OrderStatus> => statusNamed(at, order),
    cancel: async (order: string): Promise<OrderStatus> => {
      const state = await cancelOrder(redis, keys, order.normalize("NFC"));
      if (state !== undefined && state !== "cancelled")
        throw new Problem(409, "It cannot be cancelled any more.", { state });
      return statusNamed(at, order);
    },
    retry: async (order: string): Promise<OrderStatus> => {
      const state = await retryOrder(redis, keys, order.normalize("NFC"));
      if (state !== undefined && state !== "again") throw new Problem(409, "It has not failed.", { state });
      return statusNamed(at, order);
    },
    /** A made order, or spoiled pieces of its job, printed again. Throws 400, 404, 409. */
    again: async (order: string, how: AgainHow): Promise<{ status: OrderStatus; fresh: boolean }> => {
      const bad = how.as === undefined ? undefined : badName(how.as);
      if (bad !== undefined) throw new Problem(400, `as: the name ${bad}.`);
      const printed = await printAgain(redis, keys, order.normalize("NFC"), how);
      if ("taken" in printed)
        throw new Problem(409, `Another order bears the name ${JSON.stringify(printed.taken)}; give one with ?as=`);
      if ("status" in printed) return printed;
      if (printed.not === undefined) throw new Problem(404, "Nobody here knows this order.");
      throw new Problem(409, "It is not made.", { state: printed.not });
    },
    findings: async (order: string) => {
      const { order: name, state, answer } = await statusNamed(at, order);
      return { order: name, state, findings: answer && "findings" in answer ? answer.findings : [] };
    },
  };
};

/** Every picture that texts of an order name, once. */
const namedPictures = ({
  lines,
}: {
  readonly lines: readonly { readonly texts?: readonly object[] | undefined }[];
}): readonly string[] => [
  ...new Set(
    lines.flatMap(({ texts = [] }) =>
      texts.flatMap((copy) =>
        Object.values(copy).flatMap((said: unknown) =>
          typeof said === "string" ? [] : [String((said as { readonly file?: unknown } | null)?.file)],
        ),
      ),
    ),
  ),
];
