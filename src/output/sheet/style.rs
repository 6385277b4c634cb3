//! How the page looks: ink on paper, one accent, and the viewer's own theme.

/// Rules for everything but the drawings.
pub(in crate::output) const PAGE: &str = "\
:root{color-scheme:light dark;--ink:#1d2226;--paper:#fdfcf8;--faint:#5d646a;--rule:#c9c6bc;--accent:#b3261e}
@media (prefers-color-scheme:dark){:root{--ink:#e6e3da;--paper:#16191c;--faint:#a0a5a9;--rule:#40464b;--accent:#ff8a73}}
*{box-sizing:border-box}
html{scroll-behavior:auto;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 \"Helvetica Neue\",Arial,\"Liberation Sans\",sans-serif;font-variant-numeric:tabular-nums}
main{max-width:62rem;margin:0 auto;padding:1.5rem}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .25rem}
h2{font-size:1.25rem;line-height:1.25;margin:2.5rem 0 .5rem;padding-top:.5rem;border-top:2px solid var(--ink)}
h2 .no{display:inline-block;min-width:1.6em;color:var(--faint)}
h3{font-size:1.02rem;margin:1.5rem 0 .4rem}
p,ul,ol{margin:.4rem 0;max-width:44rem;overflow-wrap:break-word}
.lead{font-size:1.15rem}
.faint{color:var(--faint)}
.look{color:var(--accent);font-weight:bold}
.verdict{border:3px solid var(--ink);padding:.75rem 1rem;margin:1rem 0}
.verdict .word{display:inline-block;margin:0 0 .4rem;padding:.1rem .7rem;background:var(--ink);color:var(--paper);font-weight:bold;font-size:1.4rem;letter-spacing:.12em}
.verdict .word[data-verdict=shim]{background:none;color:inherit;border:3px double var(--ink)}
.verdict .word[data-verdict=rescan]{background:none;color:var(--accent);border:3px solid var(--accent)}
.verdict li{margin:.35rem 0}
dl.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(10.5rem,1fr));gap:0;margin:1rem 0;border:1px solid var(--ink)}
dl.facts div{padding:.5rem .75rem;border:1px solid var(--rule)}
dt{font-size:.85rem;color:var(--faint)}
dd{margin:0;font-size:1.2rem}
dl.hashes dd{font-size:.85rem;overflow-wrap:anywhere}
nav{break-inside:avoid}
ol.contents{columns:14rem;column-gap:2rem;max-width:none;padding:.75rem 0 .75rem 1.6rem;border-top:1px solid var(--rule);border-bottom:1px solid var(--rule);margin:1rem 0}
ol.contents li{break-inside:avoid;padding:.15rem 0}
figure{margin:.75rem 0;overflow-x:auto}
figure svg{display:block;max-width:100%;height:auto}
figure.hero svg{width:100%!important;min-width:36rem}
figure.plan svg{min-width:30rem}
.row{display:flex;flex-wrap:wrap;gap:.5rem;align-items:flex-end}
.row figure{margin:0}
.cards{display:grid;grid-template-columns:repeat(auto-fill,minmax(15.5rem,1fr));gap:.75rem;margin:.75rem 0}
.card{border:1px solid var(--rule);padding:.6rem .75rem}
.card figure{margin:0 0 .3rem}
.card p{margin:.2rem 0;font-size:.92rem}
.tick{display:inline-block;width:.85em;height:.85em;border:1.5px solid var(--ink);vertical-align:-.05em;margin-right:.15em}
.blanks{display:flex;flex-wrap:wrap;gap:.5rem 1.5rem;max-width:none}
.blanks span{flex:1 1 11rem;border-bottom:1px solid var(--ink);padding:.8rem 0 .1rem;color:var(--faint);font-size:.85rem}
.scroll{overflow-x:auto}
.scroll td{white-space:nowrap}
.scroll td.how{white-space:normal;min-width:8em}.scroll td.how:nth-child(2){min-width:14em}
table{border-collapse:collapse;margin:.5rem 0}
th,td{padding:.25rem .75rem .25rem 0;text-align:left;border-bottom:1px solid var(--rule);vertical-align:top}
th{font-weight:normal;color:var(--faint);font-size:.85rem}
td.n,th.n{text-align:right}
td.write{border:1px solid var(--ink);min-width:6rem}
.findings{max-width:none}
.findings>li{margin:.6rem 0}
.findings .said{max-width:44rem}
.findings figure{margin:.4rem 0}
ul.files{columns:22rem;max-width:none;font-size:.92rem}
a{color:inherit}
a:focus-visible,[tabindex]:focus-visible{outline:3px solid var(--accent);outline-offset:2px}
main .model{height:min(70vh,34rem);min-height:22rem;margin:.75rem 0}
@media (max-width:40rem){main{padding:1rem}h1{font-size:1.4rem}.scroll td.how:nth-child(2){min-width:11em}
dl.facts{grid-template-columns:repeat(2,1fr)}dd{font-size:1.1rem}
figure.hero::before,figure.plan::before{content:\"Slide the drawing sideways to see all of it \\2192\";position:sticky;left:0;display:block;width:max-content;max-width:100%;font-size:.85rem;color:var(--faint)}
.scroll td{white-space:normal}.scroll td.n{white-space:nowrap}
table:not(.wide) td{padding-right:.5rem;overflow-wrap:break-word}table:not(:has(th)) td{font-size:.8rem}
.wide,.wide tbody,.wide tr,.wide td,.wide th{display:block}
.wide thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.wide tr{display:grid;grid-template-columns:1fr 1fr;gap:.1rem 1.25rem;padding:.5rem 0;border-bottom:1px solid var(--rule)}
.wide td,.wide th{border:0;padding:0;min-width:0}
.wide td:empty:not(.write){display:none}
.scroll .wide td{display:block;text-align:right;white-space:normal}
.wide td::before{content:attr(data-l);float:left;margin-right:.6rem;color:var(--faint);font-size:.85rem;font-weight:normal}
.wide td:first-child,.wide th:first-child,.wide td.how,.wide td.write{grid-column:1/-1}
.scroll .wide td:first-child,.scroll .wide td.how,.scroll .wide td.write{text-align:left}.wide td:first-child{font-weight:bold}.wide td.how{min-width:0}.wide td.how:nth-child(n+2)::before{float:none;display:block}
.scroll .wide td.write{border:1px solid var(--ink);min-height:2.75rem;padding:.2rem .4rem;margin-top:.25rem}}
@page{margin:14mm}
@media print{main .model,.screen{display:none!important}
:root{--ink:#000;--paper:#fff;--faint:#444;--rule:#999;--accent:#a01810}
body{font-size:10pt}main{max-width:none;padding:0 1px}figure{overflow:visible}figure.hero svg,figure.plan svg{min-width:0}figure svg{max-height:245mm}
dl.facts{grid-template-columns:repeat(4,1fr)}.scroll{overflow:visible}.scroll td{white-space:normal}.scroll td.n{white-space:nowrap}
ol.contents{columns:3;font-size:9pt}ul.files{columns:2;font-size:8.5pt}.files li{overflow-wrap:anywhere}
.cards{grid-template-columns:repeat(3,1fr)}.card p{font-size:8.5pt}.card figure svg{max-height:42mm}
h2,h3,h2+p,thead,tbody tr:nth-child(-n+2),li:first-child,p:has(+.scroll),p:has(+figure),p:has(+ul),p:has(+ol),p:has(+dl),p:has(+.row),p:has(+.cards){break-after:avoid}
tbody tr:nth-last-child(-n+2),li:last-child{break-before:avoid}
tr.with{break-before:avoid}.findings>li:first-child{break-after:auto}.findings>li:last-child{break-before:auto}
table:not(:has(tr:nth-child(13))),:is(ul,ol):not(.findings):not(:has(>li:nth-child(8))),.keep,p,figure,tr,li,dl,.card,.verdict{break-inside:avoid}}
";
