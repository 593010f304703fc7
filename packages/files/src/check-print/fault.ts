/** What breaks a letter of the checklist, and the number of the object it was found in, where there is one. */
export interface Fault {
  readonly says: string;
  readonly object?: number;
}
