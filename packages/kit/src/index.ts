export * from "./kit.ts";
export * from "./order.ts";
export * from "./problem.ts";
export * from "./shop.ts";
