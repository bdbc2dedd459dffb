"""How a report looks: one style sheet, for a telephone, a wide screen and paper."""

from __future__ import annotations

from typing import Final

from cases.show.palette import BANNER, FORCE, GREY, INK, MOMENT, PALE, WALL, WIRE

PAPER: Final = "#fbfaf6"
"""Ground of the page, warmer than white so that pictures lie on it like sheets."""

STYLE: Final = f"""
:root {{ color-scheme: light; --ink: {INK}; --grey: #565d69; --pale: {PALE}; --wall: {WALL}; --wire: {WIRE};
  --force: {FORCE}; --moment: {MOMENT}; --paper: {PAPER}; --banner: {BANNER}; --axis: {GREY}; }}
* {{ box-sizing: border-box; }}
html {{ -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }}
body {{ margin: 0; background: var(--paper); color: var(--ink);
  font: 1rem/1.55 system-ui, -apple-system, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; }}
.skip {{ position: absolute; left: -999rem; top: 0; background: white; padding: .6rem 1rem; z-index: 3; }}
.skip:focus {{ left: .5rem; }}
:focus-visible {{ outline: 3px solid var(--force); outline-offset: 2px; }}
a {{ color: var(--force); text-underline-offset: .18em; }}
.page {{ max-width: 78rem; margin: 0 auto; padding: 0 1rem 3rem; }}
header {{ padding: 2rem 0 1.4rem; border-bottom: 5px solid var(--wire); }}
.kind {{ margin: 0 0 .4rem; color: var(--grey); font-size: .9rem; letter-spacing: .02em; }}
h1 {{ margin: 0; font-size: clamp(1.5rem, 1.15rem + 1.6vw, 2.4rem); line-height: 1.18; text-wrap: balance;
  max-width: 26em; }}
h2 {{ margin: 0 0 .8rem; font-size: 1.35rem; line-height: 1.25; }}
h2::before {{ content: ""; display: inline-block; width: .52em; height: .34em; margin-right: .5em;
  background: var(--wire);
  border: .15em solid var(--wall); border-right-width: .05em; vertical-align: .08em; }}
h3 {{ margin: 1.3rem 0 .35rem; font-size: 1.05rem; line-height: 1.3; }}
p, ul, dl {{ margin: 0 0 .8rem; }}
p, li, dd {{ max-width: 46rem; overflow-wrap: break-word; }}
ul {{ padding-left: 1.2rem; }}
li {{ margin-bottom: .25rem; }}
.banner {{ background: var(--banner); color: white; padding: .9rem 1rem; margin: 0; font-weight: 700;
  font-size: 1.15rem;
  text-align: center; max-width: none; }}
.about {{ margin-top: 1rem; font-size: 1.08rem; }}
.about p {{ max-width: 50rem; }}
.about p:last-child {{ margin-bottom: 0; }}
.caution {{ border-left: 5px solid var(--moment); padding: .1rem 0 .1rem .8rem; margin: 1.2rem 0 0;
  font-size: .95rem; }}
.facts {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 13.5rem), 1fr)); gap: 0;
  margin: 1.4rem 0;
  background: white; border: 1px solid var(--pale); }}
.facts > div {{ padding: .8rem 1rem; border-left: 1px solid var(--pale); margin-left: -1px;
  border-top: 1px solid var(--pale);
  margin-top: -1px; }}
.facts dt {{ color: var(--grey); font-size: .88rem; }}
.facts dd {{ margin: 0; font-size: .88rem; }}
.facts dd.value {{ font-size: 1.5rem; font-weight: 700; line-height: 1.25; color: var(--force); }}
nav ol {{ list-style: none; padding: 0; margin: 1rem 0 0; display: flex; flex-wrap: wrap; gap: .2rem 1rem;
  font-size: .95rem; }}
nav a {{ display: inline-block; padding: .3rem 0; }}
section {{ padding: 1.8rem 0 .4rem; border-bottom: 1px solid var(--pale); scroll-margin-top: .5rem; }}
.terms {{ display: grid; grid-template-columns: minmax(7rem, max-content) 1fr; gap: .25rem 1.2rem; }}
.terms dt {{ color: var(--grey); }}
.terms dd {{ margin: 0; min-width: 0; overflow-wrap: anywhere; }}
figure {{ margin: .4rem 0 1.2rem; min-width: 0; }}
figcaption {{ color: var(--grey); font-size: .88rem; margin-top: .4rem; max-width: 46rem; }}
svg, img {{ display: block; }}
svg {{ width: 100%; max-width: calc(var(--natural) * 1.3); height: auto; background: white; }}
svg * {{ stroke-linejoin: round; stroke-linecap: butt; }}
svg text {{ white-space: pre; }}
.legend svg {{ max-width: var(--natural); background: none; }}
.legend svg [id$="-patch_1"] path {{ fill: none !important; }}
.scroll {{ overflow-x: auto; max-width: 100%; }}
.scroll svg {{ min-width: min(var(--natural), 31rem); }}
.arch .scroll svg {{ min-width: min(var(--natural), 52rem); }}
.scene img {{ width: 100%; min-width: 46rem; max-width: 70rem; }}
.views {{ display: grid; grid-template: "facial side" auto "occlusal side" auto / minmax(0, 2fr) minmax(0, 1fr);
  gap: 0 1.2rem;
  align-items: start; }}
.view-facial {{ grid-area: facial; }} .view-occlusal {{ grid-area: occlusal;
  }} .view-mesiodistal {{ grid-area: side; }}
.pair {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr)); gap: 0 1.4rem; }}
.cards {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 27rem), 1fr)); gap: 1rem;
  margin-bottom: 1rem; }}
.card {{ background: white; border: 1px solid var(--pale); padding: .2rem 1rem .6rem; }}
.card .body {{ display: flex; flex-wrap: wrap; gap: 0 1rem; align-items: center; }}
.card figure {{ flex: 1 1 20rem; margin: 0; max-width: 26rem; }}
.card ul {{ flex: 1 1 14rem; list-style: none; padding: 0; margin: .3rem 0; font-size: .92rem; }}
.card li.main {{ color: var(--moment); font-weight: 700; }}
.words {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 25rem), 1fr)); gap: 0 2rem;
  margin-bottom: 1rem; }}
h4 {{ margin: .6rem 0 .2rem; font-size: 1rem; }}
.words p {{ margin-bottom: .4rem; }}
.words ul {{ font-size: .92rem; }}
table {{ border-collapse: collapse; font-size: .88rem; background: white; width: 100%;
  font-variant-numeric: tabular-nums; }}
caption {{ text-align: left; font-weight: 700; padding: .2rem 0 .5rem; background: var(--paper); }}
caption span {{ position: sticky; left: 0; display: inline-block; max-width: min(100%, calc(100vw - 2rem)); }}
.table table {{ min-width: calc(var(--columns) * 5.2rem); }}
th, td {{ padding: .35rem .6rem; text-align: left; vertical-align: top; border-bottom: 1px solid var(--pale); }}
thead th {{ border-bottom: 2px solid var(--ink); vertical-align: bottom; font-weight: 600; }}
th.number, td.number {{ text-align: right; white-space: nowrap; }}
thead th.number {{ white-space: normal; }}
tbody th {{ font-weight: 600; white-space: nowrap; }}
tbody th.long {{ white-space: normal; min-width: 12rem; font-weight: 400; }}
td.long {{ min-width: 10rem; }}
td.some {{ min-width: 7.5rem; }}
.table {{ margin: 0 0 1.4rem; border: 0; }}
.wrong {{ color: var(--banner); font-weight: 700; }}
pre {{ overflow: auto; max-height: 28rem; background: white; border: 1px solid var(--pale); padding: .8rem;
  margin: 0 0 1rem;
  font: .82rem/1.45 ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace; }}
footer {{ padding: 1.4rem 0 0; color: var(--grey); font-size: .9rem; }}
@media (max-width: 62rem) {{ .views {{ display: block; }} }}
@media (max-width: 30rem) {{ .terms {{ grid-template-columns: 1fr; gap: 0; }} .terms dd {{ margin-bottom: .5rem;
  }} }}
@media (min-width: 74rem) {{
  .body-grid {{ display: grid; grid-template-columns: 12.5rem minmax(0, 1fr); gap: 0 2.4rem; }}
  nav ol {{ position: sticky; top: 1rem; display: block; margin-top: 2rem; }}
}}
@page {{ margin: 16mm 14mm; }}
@media print {{
  html {{ font-size: 9pt; }}
  body {{ background: white; line-height: 1.42; }}
  .page {{ max-width: none; padding: 0; }}
  nav, .skip {{ display: none; }}
  .body-grid {{ display: block; }}
  header {{ padding-top: 0; }}
  h1 {{ font-size: 18pt; }}
  .facts {{ grid-template-columns: repeat(4, 1fr); }}
  h2, h3, caption {{ break-after: avoid; }}
  section {{ padding-top: 1.1rem; }}
  figure, .card, .facts, tr, .pair > figure, .keep {{ break-inside: avoid; }}
  .scroll {{ overflow: visible; }}
  svg {{ max-width: min(100%, var(--natural)); max-height: 225mm; }}
  .scroll svg, .arch .scroll svg, .scene img {{ min-width: 0; }}
  .scene img {{ max-height: 105mm; width: auto; max-width: 100%; }}
  .pair {{ grid-template-columns: 1fr 1fr; }}
  .words, .cards {{ display: block; columns: 2; column-gap: 1.4rem; }}
  .card {{ margin-bottom: .8rem; }}
  .card figure {{ flex-basis: 100%; max-width: 62mm; }}
  .views {{ display: block; }}
  .view-occlusal, .view-mesiodistal {{ display: inline-block; vertical-align: top; width: 64%; }}
  .view-mesiodistal {{ width: 33%; margin-left: 2%; }}
  .legend {{ break-before: avoid; }}
  .table table {{ font-size: 7.6pt; min-width: 0; }}
  th, td {{ padding: .18rem .3rem; }}
  td.long, td.some, tbody th.long {{ min-width: 0; }}
  tbody th, th.number {{ white-space: normal; }}
  thead {{ display: table-header-group; }}
  pre {{ max-height: none; overflow: visible; white-space: pre-wrap; overflow-wrap: anywhere; font-size: 7.5pt;
    border: 0; padding: 0; }}
  a {{ color: inherit; text-decoration: none; }}
  .banner, .facts > div, svg, .card li.main {{ -webkit-print-color-adjust: exact; print-color-adjust: exact; }}
}}
"""
