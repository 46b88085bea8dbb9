// Brings a drawn chart to life: one cursor and one tooltip through all panels, zoom, switches. The drawing stays the one
// that C++ made; zooming draws its shapes again with more of what they hold.
import { axisTicks, short, shownUnit, ticksUpTo, timeLabels } from './axis';
import { bin } from './bins';
import type { ChartData, Panel } from './data';
import { FINE, mostOf, paths, xOf, type View } from './shapes';
import { indexOf, placeOf, saidOf, spokenOf } from './tooltip';

const PIXELS_A_BIN = 2;
const LEAST_DRAG_PX = 4;
const NEAR_EDGE = 6; // percent: a label in its middle would reach over the edge

function element<K extends keyof HTMLElementTagNameMap>(tag: K, css: string, text = ''): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  made.className = css;
  made.textContent = text;
  return made;
}

function drawn(tag: string, css: string, attributes: Record<string, string | number>, text = ''): SVGElement {
  const made = document.createElementNS(document.querySelector('svg')?.namespaceURI ?? null, tag) as SVGElement;
  made.setAttribute('class', css);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  made.textContent = text;
  return made;
}

interface DrawnPanel {
  data: Panel;
  box: Element;
  plot: SVGSVGElement;
  shapes: SVGSVGElement;
  high_px: number;
  most: number;
}

export class LiveChart {
  private readonly panels: DrawnPanel[] = [];
  private readonly holder: HTMLElement;
  private readonly axis: SVGSVGElement | null;
  private readonly tooltip = element('div', 'tooltip');
  private readonly cursor = element('div', 'cursor');
  private readonly select = element('div', 'select');
  private readonly spoken = element('p', 'spoken');
  private readonly note = element('span', 'note-of-zoom');
  private readonly all = element('button', '', 'show all');
  private readonly full = element('button', '', 'full height');
  private readonly off = new Set<string>();
  private readonly first: number;
  private readonly last: number;
  private from: number;
  private to: number;
  private isFull = false;
  private dragFrom = -1;

  constructor(private readonly figure: HTMLElement, private readonly data: ChartData) {
    this.first = this.from = data.edges[0] ?? 0;
    this.last = this.to = data.edges[data.edges.length - 1] ?? 1;
    this.holder = figure.querySelector('.panels') as HTMLElement;
    this.axis = figure.querySelector('.axis .plot');
    const boxes = [...this.holder.querySelectorAll('.panel:not(.axis)')];
    data.panels.forEach((panel, i) => {
      const box = boxes[i];
      const shapes = box?.querySelector('.shapes') as SVGSVGElement | null;
      const plot = box?.querySelector('.plot') as SVGSVGElement | null;
      if (box === undefined || shapes === null || plot === null) return;
      this.panels.push({ data: panel, box, plot, shapes, high_px: Number(plot.getAttribute('height')), most: panel.lanes.length > 0 ? 1 : mostOf(panel) });
    });
    this.addParts();
    this.listen();
    this.tell();
  }

  private addParts(): void {
    const tools = element('div', 'tools');
    this.all.type = this.full.type = 'button';
    this.all.hidden = true;
    this.all.addEventListener('click', () => this.zoom(this.first, this.last));
    this.full.hidden = !this.panels.some((panel) => panel.data.lanes.length === 0 && panel.most > panel.data.shown);
    this.full.setAttribute('aria-pressed', 'false');
    this.full.addEventListener('click', () => {
      this.isFull = !this.isFull;
      this.full.setAttribute('aria-pressed', String(this.isFull));
      this.draw();
    });
    tools.append(this.all, this.full, this.note);
    for (const hidden of [this.tooltip, this.cursor, this.select]) hidden.hidden = true;
    this.spoken.setAttribute('aria-live', 'polite');
    const keys = this.figure.querySelectorAll('.key');
    (keys[keys.length - 1] ?? this.holder).after(tools);
    this.figure.append(this.cursor, this.select, this.tooltip, this.spoken);
    this.figure.tabIndex = 0;
    this.figure.setAttribute('aria-label', `${this.figure.getAttribute('aria-label') ?? ''}; arrow keys move, plus and minus zoom, 0 shows all`);
    for (const item of this.figure.querySelectorAll<HTMLElement>('.key li:not(.of)')) this.addSwitch(item);
  }

  private addSwitch(item: HTMLElement): void {
    const name = item.textContent ?? '';
    const button = element('button', '');
    button.type = 'button';
    button.append(...item.childNodes);
    button.setAttribute('aria-pressed', 'true');
    button.addEventListener('click', () => {
      if (!this.off.delete(name)) this.off.add(name);
      button.setAttribute('aria-pressed', String(!this.off.has(name)));
      this.draw();
    });
    item.append(button);
  }

  private listen(): void {
    this.figure.addEventListener('keydown', (event) => this.key(event));
    this.holder.addEventListener('pointerdown', (event) => {
      if (event.pointerType === 'mouse' && event.button === 0) this.dragFrom = this.at(event);
      this.moved(event);
    });
    this.holder.addEventListener('pointermove', (event) => this.moved(event));
    this.holder.addEventListener('pointerleave', () => this.leave());
    this.holder.addEventListener('pointerup', (event) => this.drop(event));
    this.holder.addEventListener('dblclick', () => this.zoom(this.first, this.last));
    addEventListener('beforeprint', () => this.zoom(this.first, this.last));
  }

  private plotBox(): { left: number; width: number; height: number } {
    const plot = (this.panels[0]?.plot ?? this.holder).getBoundingClientRect();
    const figure = this.figure.getBoundingClientRect();
    return { left: plot.left - figure.left, width: Math.max(1, plot.width), height: this.holder.offsetHeight };
  }

  /** The place on the axis below the pointer. */
  private at(event: PointerEvent): number {
    const plot = this.plotBox();
    const x = event.clientX - this.figure.getBoundingClientRect().left - plot.left;
    return this.from + Math.min(1, Math.max(0, x / plot.width)) * (this.to - this.from);
  }

  private left(value: number): number {
    const plot = this.plotBox();
    return plot.left + ((value - this.from) / (this.to - this.from)) * plot.width;
  }

  private moved(event: PointerEvent): void {
    const value = this.at(event);
    this.point(indexOf(this.data, value), this.left(value), false);
    if (this.dragFrom < 0) return;
    const [low, high] = [this.left(Math.min(this.dragFrom, value)), this.left(Math.max(this.dragFrom, value))];
    this.select.hidden = high - low < LEAST_DRAG_PX;
    this.select.style.left = `${low}px`;
    this.select.style.width = `${high - low}px`;
    this.select.style.height = `${this.plotBox().height}px`;
  }

  private drop(event: PointerEvent): void {
    const value = this.at(event);
    const wide = Math.abs(this.left(value) - this.left(this.dragFrom));
    const from = this.dragFrom;
    this.dragFrom = -1;
    this.select.hidden = true;
    if (from >= 0 && wide >= LEAST_DRAG_PX) this.zoom(Math.min(from, value), Math.max(from, value));
  }

  private leave(): void {
    this.dragFrom = -1;
    for (const hidden of [this.tooltip, this.cursor, this.select]) hidden.hidden = true;
  }

  private zoom(from: number, to: number): void {
    const least = (this.last - this.first) / Math.max(this.data.edges.length - 1, 1) / 2;
    if (to - from < least) return;
    this.from = Math.max(this.first, from);
    this.to = Math.min(this.last, to);
    this.draw();
  }

  private draw(): void {
    const bins = Math.ceil(this.plotBox().width / PIXELS_A_BIN);
    for (const panel of this.panels) {
      const shown = this.isFull ? Math.max(panel.data.shown, panel.most * 1.06) : panel.data.shown;
      const view: View = { from: this.from, to: this.to, bins, shown, high_px: panel.high_px, off: this.off };
      const left = xOf(this.data, this.from);
      panel.shapes.setAttribute('viewBox', `${left} 0 ${xOf(this.data, this.to) - left} ${FINE * panel.high_px}`);
      if (panel.data.lanes.length > 0) {
        this.drawLaneWords(panel);
        continue;
      }
      paths(this.data, panel.data, view).forEach((path, i) => panel.shapes.querySelector(`[data-s="${i}"]`)?.setAttribute('d', path));
      this.drawScale(panel, shown);
    }
    this.drawAxis();
    this.tell();
  }

  /** Grid lines, their labels, and where columns are cut off. */
  private drawScale(panel: DrawnPanel, shown: number): void {
    const unit = shownUnit(panel.data.unit, shown);
    let ticks = ticksUpTo(shown / unit.per, panel.high_px >= 100 ? 4 : 3);
    if (panel.data.unit === '') ticks = ticks.filter((tick) => Number.isInteger(tick));
    const labels = panel.box.querySelector('.ticks');
    for (const old of panel.plot.querySelectorAll(':scope > .grid')) old.remove();
    labels?.replaceChildren();
    const name = panel.box.querySelector('.name small');
    if (name !== null) name.textContent = unit.unit;
    let above = Infinity;
    for (const tick of ticks) {
      const y = panel.high_px * (1 - (tick * unit.per) / shown);
      const grid = Math.min(y, panel.high_px - 0.5);
      panel.plot.prepend(drawn('line', 'grid', { x2: '100%', y1: grid, y2: grid }));
      const at = Math.min(panel.high_px - 0.5, Math.max(9, y + 4));
      if (above - at < 11) continue;
      labels?.append(drawn('text', '', { y: at }, short(tick)));
      above = at;
    }
    for (const cut of panel.plot.querySelectorAll<SVGElement>('.cut')) {
      const index = Number(cut.dataset.at);
      const middle = ((this.data.edges[index] as number) + (this.data.edges[index + 1] as number)) / 2;
      const share = (middle - this.from) / (this.to - this.from);
      cut.setAttribute('x', `${100 * share}%`);
      cut.setAttribute('display', this.isFull || share < 0 || share > 1 ? 'none' : 'inline');
    }
    for (const mark of panel.plot.querySelectorAll<SVGElement>('.mark')) mark.setAttribute('display', this.from === this.first && this.to === this.last ? 'inline' : 'none');
  }

  private drawLaneWords(panel: DrawnPanel): void {
    for (const words of panel.plot.querySelectorAll<SVGElement>('.lane-words')) {
      const share = (Number(words.dataset.from) - this.from) / (this.to - this.from);
      words.setAttribute('x', `${100 * share}%`);
    }
  }

  private drawAxis(): void {
    if (this.axis === null) return;
    const ticks = axisTicks(this.data, this.from, this.to, 8);
    this.axis.replaceChildren();
    const name = this.figure.querySelector('.axis .name');
    if (this.data.axis === 'time' && name !== null) name.textContent = timeLabels(this.from, this.to);
    ticks.forEach((tick, i) => {
      const isLast = i + 1 === ticks.length;
      const half = this.data.axis === 'layer' && !isLast ? 0.5 : 0;
      const share = (100 * (tick.at + half - this.from)) / (this.to - this.from);
      const anchor = isLast ? 'end' : share < NEAR_EDGE ? 'start' : 'middle';
      const odd = i % 2 === 1 && !isLast ? 'odd' : '';
      this.axis?.append(drawn('text', odd, { x: `${share}%`, y: 12, 'text-anchor': anchor }, tick.words));
      if (tick.below !== '') this.axis?.append(drawn('text', `soft ${odd}`, { x: `${share}%`, y: 27, 'text-anchor': anchor }, tick.below));
    });
  }

  /** What is shown of the axis, and of how many columns a step is the mean. */
  private tell(): void {
    const isWhole = this.from === this.first && this.to === this.last;
    this.all.hidden = isWhole;
    const series = this.data.panels.find((panel) => panel.series.length > 0)?.series[0];
    const bins = Math.ceil(this.plotBox().width / PIXELS_A_BIN);
    const most = series === undefined || this.data.axis === 'years' ? 1 : bin(this.data.edges, series.values, this.from, this.to, bins).most;
    const what = this.data.axis === 'layer' ? 'layers' : this.data.axis === 'height' ? 'slices' : 'samples';
    this.note.textContent = most > 1 ? `each step is the mean of ${most} ${what}` : isWhole ? '' : 'drag to zoom further, double click for all';
    this.figure.dataset.from = String(this.from);
    this.figure.dataset.to = String(this.to);
  }

  private point(index: number, left: number, aloud: boolean): void {
    if (index < 0) return;
    const [first, ...more] = placeOf(this.data, index);
    const lines: HTMLElement[] = [element('strong', '', first), element('span', 'soft', more.join(' \u00b7 '))];
    for (const panel of this.data.panels) {
      const said = saidOf(this.data, panel, index, this.off);
      if (said === undefined) continue;
      const sum = element('div', 'sum');
      sum.append(element('span', '', said.title), element('em', '', said.sum));
      lines.push(sum);
      for (const part of said.parts) {
        const row = element('div', 'part');
        const name = element('span', '');
        name.append(element('i', part.hue), part.name);
        row.append(name, element('em', '', part.text));
        lines.push(row);
      }
    }
    this.tooltip.replaceChildren(...lines);
    this.tooltip.hidden = this.cursor.hidden = false;
    this.cursor.style.left = `${left}px`;
    this.cursor.style.height = `${this.plotBox().height}px`;
    const room = this.figure.clientWidth - this.tooltip.offsetWidth;
    const beside = left + 14 > room ? left - 14 - this.tooltip.offsetWidth : left + 14;
    this.tooltip.style.left = `${Math.max(0, Math.min(beside, room))}px`;
    this.tooltip.style.top = '4px';
    this.figure.dataset.index = String(index);
    if (aloud) this.spoken.textContent = spokenOf(this.data, index, this.off);
  }

  private key(event: KeyboardEvent): void {
    if (event.target !== this.figure) return;
    const edges = this.data.edges;
    const count = this.data.axis === 'years' ? edges.length : edges.length - 1;
    const now = Number(this.figure.dataset.index ?? '-1');
    const middle = (this.from + this.to) / 2;
    const half = (this.to - this.from) / 2;
    const begin = Math.max(0, indexOf(this.data, this.from));
    const step = event.shiftKey ? 10 : 1;
    let index = -1;
    switch (event.key) {
      case 'ArrowRight': index = Math.min(count - 1, now < 0 ? begin : now + step); break;
      case 'ArrowLeft': index = Math.max(0, now < 0 ? begin : now - step); break;
      case 'Home': index = 0; break;
      case 'End': index = count - 1; break;
      case '+': case '=': this.zoom(middle - half / 2, middle + half / 2); break;
      case '-': this.zoom(middle - half * 2, middle + half * 2); break;
      case '0': case 'Escape': this.zoom(this.first, this.last); this.leave(); break;
      default: return;
    }
    event.preventDefault();
    if (index < 0) return;
    const at = this.data.axis === 'years' ? (edges[index] as number) : ((edges[index] as number) + (edges[index + 1] as number)) / 2;
    if (at < this.from || at > this.to) this.zoom(at - half, at + half);
    this.point(index, this.left(at), true);
  }
}

export function liveCharts(charts: ChartData[]): void {
  for (const data of charts) {
    const figure = document.getElementById(data.id);
    if (figure !== null && data.edges.length > 1) new LiveChart(figure, data);
  }
}
