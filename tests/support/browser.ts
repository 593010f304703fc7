// The browser that pages are tried in.
export const CHROMIUM = "/usr/bin/chromium";
/** Of the browser's own habits only those that would reach for a network are switched off. */
export const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--no-first-run",
];
