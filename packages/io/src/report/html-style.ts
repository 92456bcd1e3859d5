/** The look of the report: a paper file card, black on white, one accent for the datum frame and what is outside its limits. */
export const STYLE = `
:root{color-scheme:light;--ink:#16191d;--soft:#4d555e;--rule:#b9bfc6;--tint:#f4f2ec;--accent:#a02c20}
*{box-sizing:border-box}
body{margin:0;background:#fff;color:var(--ink);font:15px/1.45 Arial,Helvetica,"Liberation Sans",sans-serif}
main{max-width:1080px;margin:0 auto;padding:28px 32px 48px}
h1{font-size:1.55rem;line-height:1.2;margin:0 0 .3rem}
h2{font-size:1.12rem;margin:2.4rem 0 .7rem;padding-top:.5rem;border-top:2px solid var(--ink)}
h3{font-size:1rem;margin:1.5rem 0 .4rem}
p{margin:.4rem 0;max-width:75ch}
.head{border:2px solid var(--ink);display:grid;grid-template-columns:1fr auto}
.head>div{padding:12px 16px}
.head .state{border-left:2px solid var(--ink);min-width:170px;display:flex;flex-direction:column;justify-content:center}
.state strong{font-size:1.25rem}
.fields{grid-column:1/-1;border-top:1px solid var(--ink);display:grid;grid-template-columns:repeat(auto-fit,minmax(min(200px,45%),1fr));gap:1px;margin:0;padding:0!important;overflow:hidden}
.fields div{padding:6px 12px;box-shadow:0 0 0 1px var(--rule)}
dt{font-size:.72rem;color:var(--soft)}
dd{margin:0;overflow-wrap:anywhere}
.caution{border:2px solid var(--accent);padding:10px 16px;margin:16px 0}
.caution h2{border:0;margin:0 0 .2rem;padding:0;font-size:1rem;color:var(--accent)}
.caution p{max-width:none;margin:0}
.outside{color:var(--accent);font-weight:bold}
table{border-collapse:collapse;width:100%;font-size:.86rem;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--soft);padding:0 0 .3rem}
th,td{text-align:left;vertical-align:top;padding:3px 7px;border-bottom:1px solid var(--rule);overflow-wrap:break-word}
thead th{border-bottom:2px solid var(--ink);font-size:.78rem}
tbody.row{border-bottom:1px solid var(--ink)}
tbody.row td,tbody.row th{border-bottom:0}
tbody.row tr+tr td{padding-top:0}
tbody.row tr:not(:last-child){height:1px}
tbody.row tr:last-child td,tbody.row td[rowspan]{padding-bottom:6px}
td.n,th.n{text-align:right;white-space:nowrap}
td.nowrap,.balloon{white-space:nowrap}
td.words{min-width:11em;overflow-wrap:anywhere}
.frame-row th{background:var(--tint);font-weight:normal}
.balloon{display:inline-block;min-width:1.75em;padding:0 .3em;border:1.5px solid var(--ink);border-radius:1em;text-align:center;font-weight:normal;line-height:1.55em}
.small{font-size:.84em;color:var(--soft)}
figure{margin:0 0 14px}
figure img,figure svg{display:block;width:100%;height:auto;border:1px solid var(--rule);background:#fff}
figcaption{font-size:.84rem;color:var(--soft);padding-top:.3rem}
.views{display:grid;grid-template-columns:1fr 1fr;gap:14px}
.views figure:first-child{grid-column:1/-1}
.charts{display:grid;grid-template-columns:3fr 2fr;gap:14px;align-items:start}
.feature{break-inside:avoid}
ul{margin:.4rem 0;padding-left:1.2rem}
li{margin:.2rem 0}
pre{white-space:pre-wrap;overflow-wrap:anywhere;background:var(--tint);padding:10px 14px;font:12px/1.4 "DejaVu Sans Mono",Consolas,Menlo,monospace}
code{font:.92em "DejaVu Sans Mono",Consolas,Menlo,monospace;overflow-wrap:anywhere}
@media (max-width:700px){main{padding:14px}.head,.charts,.views{grid-template-columns:1fr}.head .state{border-left:0;border-top:1px solid var(--ink)}.wide{overflow-x:auto}}
@media print{
@page{size:A4;margin:14mm 12mm 16mm}
html{font-size:9.2pt}
body{font-size:1rem}
main{max-width:none;padding:0}
table{font-size:7.6pt}
th,td{padding:2px 4px}
tr,figure,.caution,.head{break-inside:avoid}
tbody.row{break-inside:avoid}
thead{display:table-header-group}
h2,h3,.lead,caption{break-after:avoid}
.sheets figure{width:170mm;margin:0 auto 4mm}
.feature .charts{grid-template-columns:1fr 1fr}
.feature ul{margin:0;columns:2;column-gap:8mm}
.feature li{break-inside:avoid}
.feature figure{margin-bottom:1.5mm}
.feature svg{max-height:34mm;padding:.4mm}
.own-page{break-before:page}
.views{grid-template-columns:1fr 1fr}
pre{font-size:6.6pt}
}
`;
