// The two dense charts: layers in separate panels over one x, and power stacked by component.
import uPlot from 'uplot';
import { bin, indexAt } from './bins';
import type { Columns, PageData } from './data';
import { counted, duration, rounded } from './format';

const PANEL_HEIGHT = 130;
const POWER_HEIGHT = 260;
const PIXELS_A_BIN = 2;

function style(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function show(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return '?';
  if (unit === '') return counted(value);
  return unit === 's' ? duration(value) : `${rounded(value, unit)} ${unit}`;
}

function element<K extends keyof HTMLElementTagNameMap>(tag: K, css: string, text = ''): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  made.className = css;
  made.textContent = text;
  return made;
}

interface Panel {
  titles: string[];
  plot: uPlot;
  holder: HTMLElement;
  /** The data of what is shown, for that many bins. */
  data: (from: number, to: number, count: number) => uPlot.AlignedData;
}

/** Panels that zoom together, with one cursor, one tooltip and one legend of switches. */
class Chart {
  private readonly panels: Panel[] = [];
  private readonly note: HTMLElement;
  private readonly tooltip: HTMLElement;
  private readonly spoken: HTMLElement;
  private readonly legend: HTMLElement;
  private readonly off = new Set<string>();
  private from: number;
  private to: number;
  private readonly first: number;
  private readonly last: number;
  private quiet = false;

  constructor(
    private readonly box: HTMLElement,
    private readonly columns: Columns,
    private readonly stacked: boolean,
    private readonly axis: { name: string; steps: number[]; label: (value: number) => string; describe: (index: number) => string },
  ) {
    this.first = this.from = columns.edges[0] ?? 0;
    this.last = this.to = columns.edges[columns.edges.length - 1] ?? 1;
    this.legend = element('div', 'legend');
    this.tooltip = element('div', 'tooltip');
    this.tooltip.hidden = true;
    this.note = element('p', 'note');
    this.spoken = element('p', 'spoken');
    this.spoken.setAttribute('aria-live', 'polite');
    box.append(this.legend, this.note, this.spoken, this.tooltip);
    for (const [place, series] of columns.series.entries()) this.addSwitch(series.name, place);
    this.addReset();
    box.tabIndex = 0;
    box.setAttribute('role', 'group');
    box.addEventListener('keydown', (event) => this.key(event));
    box.addEventListener('mouseleave', () => { this.tooltip.hidden = true; });
    this.build();
    new ResizeObserver(() => this.resize()).observe(box);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.build());
  }

  private width(): number {
    return Math.max(220, Math.floor(this.box.clientWidth));
  }

  private colour(place: number): string {
    return style(`--series-${(place % 7) + 1}`);
  }

  private addSwitch(name: string, place: number): void {
    const button = element('button', `switch s${(place % 7) + 1}`, name);
    button.type = 'button';
    button.setAttribute('aria-pressed', 'true');
    button.addEventListener('click', () => {
      if (this.off.has(name)) this.off.delete(name);
      else this.off.add(name);
      button.setAttribute('aria-pressed', String(!this.off.has(name)));
      this.build();
    });
    this.legend.append(button);
  }

  private addReset(): void {
    const button = element('button', 'all', 'show all');
    button.type = 'button';
    button.addEventListener('click', () => this.zoom(this.first, this.last));
    this.legend.append(button);
  }

  private build(): void {
    for (const panel of this.panels) {
      panel.plot.destroy();
      panel.holder.remove();
    }
    this.panels.length = 0;
    const shown = this.columns.series.map((series, place) => ({ series, place })).filter(({ series }) => !this.off.has(series.name));
    if (this.stacked) {
      if (shown.length > 0) this.addPanel(shown.map(({ place }) => place), POWER_HEIGHT, true);
    } else {
      for (const [i, { place }] of shown.entries()) this.addPanel([place], PANEL_HEIGHT + (i + 1 === shown.length ? 30 : 0), i + 1 === shown.length);
    }
    this.refresh();
  }

  /** Columns of uPlot: the right edges of the steps belong to the steps before them. */
  private columnsOf(places: number[], from: number, to: number, count: number): uPlot.AlignedData {
    let x: number[] = [];
    const rows: (number | null)[][] = [];
    for (const place of places) {
      const bins = bin(this.columns.edges, this.columns.series[place]!.values, from, to, count);
      x = bins.edges;
      const means = bins.means.slice();
      means.push(means[means.length - 1] ?? null);
      const below = rows[rows.length - 1];
      rows.push(this.stacked && below !== undefined ? means.map((value, i) => (value ?? 0) + (below[i] ?? 0)) : means);
    }
    // The highest stack is drawn first, so that the lower ones lie before it.
    return [x, ...(this.stacked ? rows.reverse() : rows)] as uPlot.AlignedData;
  }

  private addPanel(places: number[], height: number, withAxis: boolean): void {
    const holder = element('div', 'panel');
    this.box.insertBefore(holder, this.note);
    const ink = style('--ink');
    const line = style('--line');
    const unit = this.columns.series[places[0]!]!.unit;
    const title = this.stacked ? `power, ${unit}` : `${this.columns.series[places[0]!]!.name}${unit === '' ? '' : `, ${unit}`}`;
    holder.append(element('p', 'title', title));
    const data = (from: number, to: number, count: number): uPlot.AlignedData => this.columnsOf(places, from, to, count);
    const drawn = this.stacked ? places.slice().reverse() : places;
    const plot = new uPlot(
      {
        width: this.width(),
        height,
        legend: { show: false },
        cursor: { sync: { key: this.box.id, setSeries: false }, drag: { x: true, y: false }, points: { show: false } },
        scales: { x: { time: false, range: () => [this.from, this.to] }, y: { range: (_plot, _low, high) => [0, high > 0 ? high * 1.05 : 1] } },
        axes: [
          { show: withAxis, stroke: ink, grid: { stroke: line, width: 1 }, ticks: { stroke: line }, label: withAxis ? this.axis.name : '', font: '13px Georgia, serif', labelFont: '13px Georgia, serif', size: 38, labelSize: 18, incrs: this.axis.steps, space: 60, values: (_plot, ticks) => ticks.map((value) => this.axis.label(value)) },
          { stroke: ink, grid: { stroke: line, width: 1 }, ticks: { stroke: line }, font: '13px Georgia, serif', size: 62, values: (_plot, ticks) => ticks.map((value) => String(Number(value.toPrecision(6)))) },
        ],
        series: [
          {},
          ...drawn.map((place) => ({
            label: this.columns.series[place]!.name,
            stroke: this.colour(place),
            fill: this.stacked ? this.colour(place) : `${this.colour(place)}66`,
            width: 1,
            paths: uPlot.paths.stepped!({ align: 1 }),
            points: { show: false },
          })),
        ],
        hooks: {
          setSelect: [(u) => {
            if (u.select.width > 3) this.zoom(u.posToVal(u.select.left, 'x'), u.posToVal(u.select.left + u.select.width, 'x'));
            u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
          }],
          setCursor: [(u) => this.moved(u)],
        },
      },
      data(this.from, this.to, this.width() / PIXELS_A_BIN),
      holder,
    );
    // uPlot's own zoom on drag is ours: setSelect above.
    plot.cursor.drag!.setScale = false;
    plot.over.addEventListener('dblclick', () => this.zoom(this.first, this.last));
    this.panels.push({ titles: places.map((place) => this.columns.series[place]!.name), plot, holder, data });
  }

  private zoom(from: number, to: number): void {
    const least = (this.last - this.first) / Math.max(this.columns.edges.length - 1, 1) / 2;
    if (to - from < least) return;
    this.from = Math.max(this.first, from);
    this.to = Math.min(this.last, to);
    this.refresh();
  }

  private refresh(): void {
    const count = this.width() / PIXELS_A_BIN;
    for (const panel of this.panels) panel.plot.setData(panel.data(this.from, this.to, count));
    this.explain(count);
    this.box.dataset.from = String(this.from);
    this.box.dataset.to = String(this.to);
  }

  private explain(count: number): void {
    const some = this.columns.series[0];
    if (some === undefined) return;
    const bins = bin(this.columns.edges, some.values, this.from, this.to, count);
    const means = bins.most > 1 ? `Each step is the mean of ${bins.most}. ` : '';
    const most = this.columns.series.map((series) => {
      let at = -1;
      for (let i = 0; i < series.values.length; ++i) {
        if ((this.columns.edges[i + 1] as number) <= this.from || (this.columns.edges[i] as number) >= this.to) continue;
        const value = series.values[i];
        if (value !== null && value !== undefined && (at < 0 || value > (series.values[at] as number))) at = i;
      }
      return at < 0 ? '' : `${series.name} ${show(series.values[at], series.unit)} at ${this.axis.describe(at)}`;
    });
    this.note.textContent = `${means}Most: ${most.filter((text) => text !== '').join('; ')}.`;
  }

  private moved(u: uPlot): void {
    if (this.quiet || u.cursor.left === undefined || u.cursor.left === null || u.cursor.left < 0) {
      if (!this.quiet) this.tooltip.hidden = true;
      return;
    }
    this.tell(indexAt(this.columns.edges, u.posToVal(u.cursor.left, 'x')), u.cursor.left + u.over.offsetLeft, false);
  }

  private tell(index: number, left: number, aloud: boolean): void {
    if (index < 0) return;
    const lines = this.columns.series.filter((series) => !this.off.has(series.name)).map((series) => `${series.name} ${show(series.values[index], series.unit)}`);
    this.tooltip.replaceChildren(element('strong', '', this.axis.describe(index)), ...lines.map((text) => element('span', '', text)));
    this.tooltip.hidden = false;
    const room = this.box.clientWidth - this.tooltip.offsetWidth;
    this.tooltip.style.left = `${Math.max(0, Math.min(left + 14, room))}px`;
    this.box.dataset.index = String(index);
    if (aloud) this.spoken.textContent = `${this.axis.describe(index)}: ${lines.join(', ')}`;
  }

  private key(event: KeyboardEvent): void {
    if (event.target !== this.box) return;
    const edges = this.columns.edges;
    const count = edges.length - 1;
    const now = Number(this.box.dataset.index ?? '-1');
    const middle = (this.from + this.to) / 2;
    const half = (this.to - this.from) / 2;
    const step = event.shiftKey ? 10 : 1;
    let index = -1;
    switch (event.key) {
      case 'ArrowRight': index = Math.min(count - 1, now < 0 ? Math.max(0, indexAt(edges, this.from)) : now + step); break;
      case 'ArrowLeft': index = Math.max(0, now < 0 ? Math.max(0, indexAt(edges, this.from)) : now - step); break;
      case 'Home': index = 0; break;
      case 'End': index = count - 1; break;
      case '+': case '=': this.zoom(middle - half / 2, middle + half / 2); break;
      case '-': this.zoom(middle - half * 2, middle + half * 2); break;
      case '0': case 'Escape': this.zoom(this.first, this.last); break;
      default: return;
    }
    event.preventDefault();
    if (index < 0) return;
    const at = ((edges[index] as number) + (edges[index + 1] as number)) / 2;
    if (at < this.from || at > this.to) this.zoom(at - half, at + half);
    const plot = this.panels[0]?.plot;
    if (plot === undefined) return;
    const left = plot.valToPos(at, 'x');
    this.quiet = true;
    for (const panel of this.panels) panel.plot.setCursor({ left, top: 10 });
    this.quiet = false;
    this.tell(index, left + plot.over.offsetLeft, true);
  }

  private resize(): void {
    const width = this.width();
    for (const panel of this.panels) if (panel.plot.width !== width) panel.plot.setSize({ width, height: panel.plot.height });
  }
}

/** Puts a live chart in the place of the drawn one; what is printed stays the drawn one. */
function replace(id: string, make: (box: HTMLElement) => void): void {
  const drawn = document.getElementById(id);
  if (drawn === null) return;
  const box = element('div', 'live');
  box.id = `${id}-live`;
  box.setAttribute('aria-label', `${drawn.getAttribute('aria-label') ?? id}; arrow keys move, plus and minus zoom, 0 shows all`);
  drawn.classList.add('for-paper');
  drawn.before(box);
  make(box);
}

export function drawCharts(data: PageData): void {
  const { layers, power } = data;
  if (layers !== undefined && layers.series.length > 0)
    replace('layers', (box) => new Chart(box, layers, false, {
      name: 'layer',
      steps: [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000],
      label: (value) => (Number.isInteger(value) ? String(value) : ''),
      describe: (index) => `layer ${layers.index[index]}${layers.z_mm[index] === null ? '' : `, ${rounded(layers.z_mm[index], 'mm')} mm high`}`,
    }));
  if (power !== undefined && power.series.length > 0)
    replace('power', (box) => new Chart(box, power, true, {
      name: 'hours',
      steps: [1, 6, 12, 36, 60, 180, 360, 720, 900, 1800, 3600, 7200, 18000, 36000, 72000, 180000, 360000, 3600000],
      label: (value) => String(Number((value / 3600).toPrecision(4))),
      describe: (index) => duration(power.edges[index] as number),
    }));
}
