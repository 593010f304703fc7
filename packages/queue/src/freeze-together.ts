import { failureOf } from "@kitforme/run";
import { freezeFor, type FrozenHouse, type House } from "./submit.ts";
import { faultOfShopNow } from "./surroundings.ts";

interface Batch {
  readonly orders: { readonly text: string }[];
  readonly end: Promise<FrozenHouse | undefined>;
}

/**
 * Freezes shop and kits for many submitters of one process. Those that come while a freeze runs share the next one, so that
 * a thousand orders a second read the kits' folder some times and not a thousand times; each gets what shop and kits are at a
 * moment after it came. Undefined while the shop cannot be used or a folder is away: such orders wait for a worker to freeze them.
 */
export const freezeTogether = (
  house: House,
): ((orders: readonly { readonly text: string }[]) => Promise<FrozenHouse | undefined>) => {
  let running: Promise<unknown> = Promise.resolve();
  let next: Batch | undefined;
  const freeze = async (orders: readonly { readonly text: string }[]): Promise<FrozenHouse | undefined> => {
    if ((await faultOfShopNow(house.shop)) !== undefined) return undefined;
    try {
      return await freezeFor(orders, house);
    } catch (error) {
      if (failureOf(error).kind === "environment") return undefined;
      throw error;
    }
  };
  return (orders) => {
    if (!next) {
      const batch: { text: string }[] = [];
      const end = running.then(() => {
        // From here on whoever comes waits for the one after this.
        next = undefined;
        return freeze(batch);
      });
      running = end.catch(() => undefined);
      next = { orders: batch, end };
    }
    next.orders.push(...orders);
    return next.end;
  };
};
