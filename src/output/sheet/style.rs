//! How the page looks: ink on paper, one accent, and the viewer's own theme.

/// Rules for everything but the drawings.
pub(in crate::output) const PAGE: &str = "\
:root{color-scheme:light dark;--ink:#1d2226;--paper:#fdfcf8;--faint:#5d646a;--rule:#c9c6bc;--accent:#b3261e}
@media (prefers-color-scheme:dark){:root{--ink:#e6e3da;--paper:#16191c;--faint:#a0a5a9;--rule:#40464b;--accent:#ff8a73}}
*{box-sizing:border-box}
body{margin:0;background:var(--paper);color:var(--ink);font:16px/1.5 \"Helvetica Neue\",Arial,\"Liberation Sans\",sans-serif;font-variant-numeric:tabular-nums}
main{max-width:62rem;margin:0 auto;padding:1.5rem}
h1{font-size:1.7rem;line-height:1.2;margin:0 0 .25rem}
h2{font-size:1.15rem;margin:2.25rem 0 .5rem;padding-top:.5rem;border-top:2px solid var(--ink)}
p,ul{margin:.4rem 0;max-width:44rem}
.lead{font-size:1.15rem}
.faint{color:var(--faint)}
.look{color:var(--accent);font-weight:bold}
dl.facts{display:grid;grid-template-columns:repeat(auto-fit,minmax(10.5rem,1fr));gap:0;margin:1rem 0;border:1px solid var(--ink)}
dl.facts div{padding:.5rem .75rem;border:1px solid var(--rule)}
dt{font-size:.85rem;color:var(--faint)}
dd{margin:0;font-size:1.2rem}
figure{margin:.75rem 0;overflow-x:auto}
figure svg{display:block;max-width:100%;height:auto}
figure.hero svg{width:100%!important;min-width:36rem}
figure.plan svg{min-width:30rem}
.row{display:flex;flex-wrap:wrap;gap:.5rem;align-items:flex-end}
.row figure{margin:0}
.scroll{overflow-x:auto}
.scroll td{white-space:nowrap}
.scroll td.how{white-space:normal;min-width:14em}
table{border-collapse:collapse;margin:.5rem 0}
th,td{padding:.25rem .75rem .25rem 0;text-align:left;border-bottom:1px solid var(--rule);vertical-align:top}
th{font-weight:normal;color:var(--faint);font-size:.85rem}
td.n,th.n{text-align:right}
td.write{border:1px solid var(--ink);min-width:6rem}
ol.findings li{margin:.4rem 0}
a{color:inherit}
@page{size:A4;margin:15mm}
@media print{:root{--ink:#000;--paper:#fff;--faint:#444;--rule:#999;--accent:#a01810}
body{font-size:10pt}main{max-width:none;padding:0}figure{overflow:visible}figure.hero svg,figure.plan svg{min-width:0}
dl.facts{grid-template-columns:repeat(4,1fr)}
h2{break-after:avoid}figure,table,li,dl{break-inside:avoid}}
";
