"""How a sheet looks as an HTML page: our own type and grid, on the screen and on A4 or US Letter."""

STYLE = """
:root { --ink: #1d1b18; --quiet: #5d574d; --line: #cfc7b6; --paper: #f3efe6; --sheet: #fffdf8; --trouble: #97290f; }
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-text-size-adjust: 100%; }
body { margin: 0; font: 15px/1.45 system-ui, "Segoe UI", "Helvetica Neue", "Noto Sans", sans-serif;
  font-variant-numeric: tabular-nums; }
main { max-width: 210mm; margin: 24px auto; padding: 40px 48px; background: var(--sheet);
  border: 1px solid var(--line); }
h1, h2, h3 { line-height: 1.2; text-wrap: balance; overflow-wrap: anywhere; break-after: avoid; }
h1 { margin: 0; font-size: 28px; font-weight: 650; }
h2 { margin: 32px 0 8px; padding-top: 8px; border-top: 2px solid var(--ink); font-size: 20px; font-weight: 650; }
h3 { margin: 24px 0 8px; font-size: 15px; font-weight: 650; }
p { margin: 8px 0; max-width: 80ch; overflow-wrap: anywhere; white-space: pre-line; }
p:has(+ .table), dl:has(+ figure) { break-after: avoid; }
.under { margin: 4px 0 16px; color: var(--quiet); }
.small { font-size: 13px; color: var(--quiet); }
dl { display: grid; grid-template-columns: minmax(96px, 22%) 1fr; gap: 4px 16px; margin: 8px 0 16px;
  break-inside: avoid; }
dt { color: var(--quiet); }
dd { margin: 0; overflow-wrap: anywhere; white-space: pre-line; }
.table { margin: 8px 0 16px; overflow-x: auto; }
table { width: 100%; border-collapse: collapse; font-size: 13px; line-height: 1.35; }
thead { display: table-header-group; }
th, td { padding: 4px 16px 4px 0; text-align: start; vertical-align: top; overflow-wrap: break-word; }
th:last-child, td:last-child { padding-inline-end: 0; }
th { font-weight: 650; vertical-align: bottom; border-bottom: 1.5px solid var(--ink); }
tbody th { border-bottom: 0; vertical-align: top; }
tbody tr { border-bottom: 1px solid var(--line); break-inside: avoid; }
.figure { text-align: right; }
.when { white-space: nowrap; }
.caution { margin: 16px 0; padding: 8px 16px; border: 1.5px solid var(--trouble); border-inline-start-width: 8px;
  break-inside: avoid; }
.caution p { margin: 0; }
.caution strong { color: var(--trouble); }
figure { margin: 8px 0 16px; break-inside: avoid; }
.stack { border-block: 1.5px solid var(--ink); max-width: 560px; }
.band { display: grid; grid-template-columns: 144px 1fr; column-gap: 16px; min-height: 32px;
  break-inside: avoid; }
.band + .band { border-top: 1px solid var(--line); }
.band.ground { min-height: 48px; }
.band i { position: relative; overflow: hidden; border-inline: 1.5px solid var(--ink); }
.band svg { position: absolute; inset: 0; width: 100%; height: 100%; }
.band span { align-self: center; padding: 4px 0; overflow-wrap: anywhere; }
.band small { display: block; font-size: 13px; color: var(--quiet); }
.photos { display: grid; grid-template-columns: repeat(auto-fill, minmax(208px, 1fr)); gap: 16px; margin: 8px 0 16px; }
.photos figure { margin: 0; }
.photos img { display: block; width: 100%; max-height: 280px; object-fit: contain; object-position: left top; }
.missing { padding: 16px; border: 1.5px dashed var(--quiet); font-size: 13px; overflow-wrap: anywhere; }
figcaption { margin-top: 4px; font-size: 13px; color: var(--quiet); overflow-wrap: anywhere; }
footer { margin-top: 40px; padding-top: 8px; border-top: 1px solid var(--line); font-size: 13px; color: var(--quiet); }
.away { position: absolute; width: 1px; height: 1px; margin: -1px; overflow: hidden; clip-path: inset(50%);
  white-space: nowrap; }
.one-page h2 { margin-top: 20px; font-size: 17px; }
.one-page p { margin: 4px 0; }
@media (max-width: 600px) { main { margin: 0; padding: 16px; border: 0; } dl { grid-template-columns: 1fr; gap: 0; }
  dd { margin-bottom: 8px; } table { min-width: 560px; } }
@page { margin: 14mm 15mm 16mm; @bottom-right { content: counter(page) " / " counter(pages); font: 8pt sans-serif; } }
@media print {
  html { background: none; }
  body { font-size: 10pt; }
  main { max-width: none; margin: 0; padding: 0; border: 0; background: none; }
  p { max-width: none; }
  h1 { font-size: 18pt; }
  h2 { font-size: 13pt; margin-top: 16pt; }
  h3 { font-size: 10.5pt; margin-top: 12pt; }
  table { font-size: 8.5pt; }
  th, td { padding-inline-end: 8pt; }
  .table { overflow: visible; }
  .small, .band small, figcaption, footer, .missing { font-size: 8.5pt; }
  footer { margin-top: 20pt; }
  .band svg { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  .photos { grid-template-columns: repeat(3, 1fr); gap: 10pt; }
  .one-page { font-size: 9.5pt; }
  .one-page h1 { font-size: 15pt; }
  .one-page .under { margin-bottom: 8pt; }
  .one-page h2 { font-size: 11.5pt; margin-top: 9pt; padding-top: 4pt; margin-bottom: 4pt; }
  .one-page th, .one-page td { padding-block: 2.5pt; }
  .one-page .caution { margin: 8pt 0; }
  .one-page .table { margin: 4pt 0 8pt; }
  .one-page footer { margin-top: 12pt; }
}
"""
"""Colours are those of the light window; sizes go by the same 8 px grid. Nothing is loaded from anywhere."""
