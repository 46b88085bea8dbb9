// Laws of layout, read from the DOM of a page that is shown. Runs in the browser: it must not use anything from outside itself.

export interface Laws {
  /** What lies or reaches outside its box, or is cut. */
  overflows: string[];
  /** Words smaller than `least` pixels on the screen. */
  small: string[];
  /** Charts whose panels differ in left edge or width. */
  uneven: string[];
  /** A number and its unit that a line end could part. */
  parted: string[];
  /** Labels that are keys of the machine's language, not words. */
  keys: string[];
  /** Labels of axes that no person would write. */
  ticks: string[];
  /** Words of pictures that lie on each other. */
  collisions: string[];
  /** Names of rows in a column too narrow to read. */
  squeezed: string[];
}

export function laws(least_px: number): Laws {
  const found: Laws = { overflows: [], small: [], uneven: [], parted: [], keys: [], ticks: [], collisions: [], squeezed: [] };
  const name = (element: Element): string => `${element.tagName.toLowerCase()}.${element.getAttribute('class') ?? ''} '${(element.textContent ?? '').trim().slice(0, 40)}'`;
  const visible = (element: Element): boolean => element.checkVisibility({ visibilityProperty: true }) && element.getBoundingClientRect().width > 0;
  const exempt = (element: Element): boolean => element.closest('.spoken, .tooltip, .cursor, .select, .name.lanes > b, details:not([open]) > :not(summary)') !== null;
  const width = document.documentElement.clientWidth;

  for (const element of document.querySelectorAll<HTMLElement>('main *')) {
    if (element instanceof SVGElement || !visible(element) || exempt(element)) continue;
    const box = element.getBoundingClientRect();
    const inScroll = element.closest('.scroll') !== null && !element.classList.contains('scroll');
    if (!inScroll) {
      if (box.right > width + 1 || box.left < -1) found.overflows.push(`${name(element)} beyond the screen`);
      const card = element.parentElement?.closest('.card, .verdict, header');
      const around = card?.getBoundingClientRect();
      if (around !== undefined && (box.right > around.right + 1 || box.left < around.left - 1 || box.bottom > around.bottom + 1)) found.overflows.push(`${name(element)} beyond its card`);
    }
    if (element.scrollWidth > element.clientWidth + 1 && element.clientWidth > 0 && getComputedStyle(element).overflowX === 'visible' && getComputedStyle(element).display !== 'inline') found.overflows.push(`${name(element)} holds more than it is wide`);
  }

  const words = document.createTreeWalker(document.querySelector('main') as Element, NodeFilter.SHOW_TEXT);
  for (let node = words.nextNode(); node !== null; node = words.nextNode()) {
    const parent = node.parentElement;
    const text = node.textContent ?? '';
    if (parent === null || text.trim() === '' || !visible(parent) || exempt(parent) || parent.tagName === 'TITLE') continue;
    const style = getComputedStyle(parent);
    const scale = parent instanceof SVGGraphicsElement ? (parent.getScreenCTM()?.a ?? 1) : 1;
    if (Number.parseFloat(style.fontSize) * scale < least_px - 0.05) found.small.push(`${name(parent)} ${(Number.parseFloat(style.fontSize) * scale).toFixed(1)} px`);
    if (style.whiteSpace !== 'nowrap' && /(^|[\s(+-])[\d.]+ (s|min|h|d|g|kg|Wh|kWh|W|mm|mm3|%|MB|kB)([\s.,;:)]|$)/.test(text)) found.parted.push(text.trim());
  }

  for (const chart of document.querySelectorAll('.panels')) {
    const boxes = [...chart.querySelectorAll('.plot')].map((plot) => plot.getBoundingClientRect());
    if (boxes.some((box) => Math.abs(box.left - boxes[0]!.left) > 0.6 || Math.abs(box.width - boxes[0]!.width) > 0.6)) found.uneven.push(name(chart));
  }

  for (const cell of document.querySelectorAll('tbody th')) if (visible(cell) && !exempt(cell) && cell.getBoundingClientRect().width < 64) found.squeezed.push(name(cell));

  for (const label of document.querySelectorAll('h1, h2, h3, th, .name, .key li, .beside span, summary, .levers > li > b, .verdict, .facts li'))
    if (/\b[a-z]+(_[a-z0-9]+)*_(s|g|wh|kwh|w|mm|mm3|c|j_k|w_k|m2k)\b/.test([...label.childNodes].filter((child) => !(child instanceof HTMLElement && child.tagName === 'SMALL')).map((child) => child.textContent).join(' '))) found.keys.push(name(label));

  for (const svg of document.querySelectorAll<SVGSVGElement>('svg.plot, svg.ticks, svg.plate')) {
    if (!visible(svg)) continue;
    const around = svg.getBoundingClientRect();
    const texts = [...svg.querySelectorAll('text')].filter((text) => visible(text));
    for (const text of texts) {
      const box = text.getBoundingClientRect();
      const slack = 2.5; // the box of a text reaches beyond its digits
      if (box.left < around.left - slack || box.right > around.right + slack || box.top < around.top - slack - 1 || box.bottom > around.bottom + slack) found.overflows.push(`${name(text)} is cut by its drawing`);
      const isTick = (svg.closest('.axis') !== null || svg.classList.contains('ticks')) && !text.classList.contains('cut');
      if (isTick && !/^(-?\d{1,6}(\.\d{1,3})?|\d+:\d\d(:\d\d)?)$/.test(text.textContent ?? '')) found.ticks.push(name(text));
    }
    texts.forEach((one, i) => {
      for (const other of texts.slice(i + 1)) {
        const [a, b] = [one.getBoundingClientRect(), other.getBoundingClientRect()];
        if (a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 4 && b.top < a.bottom - 4) found.collisions.push(`${name(one)} and ${name(other)}`);
      }
    });
  }
  return found;
}

/** Bottom edges of what the first screen has to hold, in pixels from the top. */
export function firstScreen(): Record<string, number> {
  const bottom = (elements: Iterable<Element>): number => Math.max(0, ...[...elements].map((one) => one.getBoundingClientRect().bottom));
  const levers = document.querySelector('#levers');
  return {
    verdict: bottom(document.querySelectorAll('main > .verdict')),
    figures: bottom([...document.querySelectorAll('main > .figures')].slice(0, 1)),
    levers: levers === null ? 0 : bottom([...levers.querySelectorAll(':scope > h2, :scope > p, :scope > .levers > li')].slice(0, 4)),
  };
}
