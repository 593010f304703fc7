import type { Job } from "@kitforme/files";
import { type Element, element } from "./xml.ts";
import { pair } from "./points.ts";
import type { Names } from "./names.ts";

/** A product for each kit of each order, with how many of it are ordered. */
export const productList = (job: Job): Element => {
  const products = job.orders.flatMap(({ order, lines }) => {
    const counts = new Map<string, number>();
    for (const { kit, quantity } of lines) counts.set(kit, (counts.get(kit) ?? 0) + quantity);
    return [...counts].map(([kit, amount]) => ({ order, kit, amount }));
  });
  return element(
    "ProductList",
    {},
    products.map(({ order, kit, amount }, i) =>
      element("Product", {
        Amount: amount,
        DescriptiveName: job.titles[kit] ?? kit,
        ExternalID: `${order}/${kit}`,
        ID: `PRODUCT-${i + 1}`,
        IsRoot: "true",
      }),
    ),
  );
};

/** The direction of the grain in a piece's drawing, as the ticket says it. */
export const GRAIN = { vertical: "YDirection", horizontal: "XDirection" } as const;

/** Every order's pieces as elements of the gang: how many are wanted and made, and by when. */
export const gangElements = (job: Job, { shares }: Names): Element => {
  const due = new Map(job.orders.map((o) => [o.order, o.due]));
  return element(
    "SheetOptimizingParams",
    { Policy: "All" },
    [...shares.values()].map(({ id, order, piece, wanted, made }) => {
      const day = due.get(order);
      return element("GangElement", {
        Dimension: pair(piece.size.width, piece.size.height),
        // An order gives a day; the ticket wants an hour: its last.
        DueDate: day === undefined ? undefined : `${day}T23:59:59Z`,
        GangElementID: id,
        GrainDirection: piece.grain ? GRAIN[piece.grain] : "Any",
        JobID: order,
        OrderQuantity: wanted,
        PlacedQuantity: made,
        RotationPolicy: piece.turns === "any" ? "Free" : "Exact",
      });
    }),
  );
};
