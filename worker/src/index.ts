export type { Sheet } from "@kitforme/run";
