/** High contrast, large enough for a bench, one column on a phone, two on a screen. */
export const STYLE = `
*{box-sizing:border-box}
body{margin:0;font:18px/1.4 system-ui,sans-serif;color:#111;background:#fff}
header{position:sticky;top:0;z-index:1;background:#fff;border-bottom:3px solid #111;padding:.6rem 1rem}
h1{font-size:1.3rem;margin:0}h2{font-size:1.1rem;margin:.6rem 0}
label{display:block;margin-top:.3rem}
input[type=search]{width:100%;max-width:40rem;font:inherit;padding:.4rem .6rem;border:2px solid #111;border-radius:.2rem}
#answer{margin:.3rem 0 0;min-height:1.4em}
main{padding:1rem;display:grid;gap:1rem}
@media(min-width:60rem){main{grid-template-columns:26rem 1fr}#sheets{grid-column:2;grid-row:1/3}}
section{min-width:0}
#list ul{list-style:none;margin:0;padding:0}
#list li{display:flex;gap:.6rem;align-items:flex-start;padding:.35rem 0;border-bottom:1px solid #777}
#list li.ticked .what{text-decoration:line-through;color:#555}
#list input{width:1.5rem;height:1.5rem;margin:.1rem 0 0;flex:none}
#list .what{flex:1;min-width:0;overflow-wrap:anywhere}
#list .at{font-weight:700}
button{font:inherit;padding:.25rem .6rem;border:2px solid #111;background:#fff;color:#111;border-radius:.2rem;cursor:pointer}
button[aria-pressed=true]{background:#111;color:#fff}
:focus-visible{outline:3px solid #0044cc;outline-offset:2px}
pre{white-space:pre-wrap;overflow-wrap:anywhere;border:2px solid #111;padding:.5rem;margin:.3rem 0}
#sheets{display:grid;gap:1rem;grid-template-columns:repeat(auto-fill,minmax(min(100%,20rem),1fr));align-content:start}
#sheets>svg{position:absolute}
figure{margin:0;content-visibility:auto;contain-intrinsic-size:20rem 29rem}
figcaption{font-size:.9rem}
figure svg{width:100%;height:auto;display:block;border:1px solid #111}
.paper{fill:#fff}.mark{fill:#111}
.place{cursor:pointer}
.place .shape,.place use{fill:#e8e8e8;stroke:#111;stroke-width:.5}
.place text{font:700 9px system-ui,sans-serif;text-anchor:middle;dominant-baseline:central;fill:#111}
.searching .place{opacity:.18}
.searching .place.found{opacity:1}
.place.found use{fill:#ffd54a;stroke:#b00020;stroke-width:1.6}
.place.spoiled use{fill:#c9c9c9;stroke-dasharray:3 2}
.searching .sheet:not(.has){display:none}
@media print{header{position:static}.sheet{break-inside:avoid}}
`.replaceAll("\n", "");
