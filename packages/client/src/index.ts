export { connect, type ConnectSettings, type ListQuery, type PrintShop, type SubmitHow } from "./connect.ts";
export { Refused } from "./refused.ts";
export type {
  Answer,
  BuyersPicture,
  Change,
  Finding,
  JobFile,
  JobFiles,
  Kit,
  Order,
  OrderList,
  OrderStatus,
  Place,
  Preview,
  State,
  Submitted,
} from "./types.ts";
export { verifyWebhook, type WebhookReceived } from "./verify-webhook.ts";
