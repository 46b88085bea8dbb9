// Tables: sorted by a click on a heading, filtered by a word.

export function sortRows(rows: HTMLTableRowElement[], column: number, descending: boolean): HTMLTableRowElement[] {
  const key = (row: HTMLTableRowElement): number | string => {
    const cell = row.cells[column];
    const value = cell?.dataset.v;
    if (value === undefined) return (cell?.textContent ?? '').toLowerCase();
    return value === 'null' ? Number.NEGATIVE_INFINITY : Number(value);
  };
  const sign = descending ? -1 : 1;
  return rows
    .map((row, place) => ({ row, place, key: key(row) }))
    .sort((a, b) => (a.key < b.key ? -sign : a.key > b.key ? sign : a.place - b.place))
    .map(({ row }) => row);
}

function addFilter(table: HTMLTableElement, body: HTMLTableSectionElement, what: string): void {
  const filter = document.createElement('input');
  filter.type = 'search';
  const label = document.createElement('label');
  label.className = 'filter';
  label.append(`only ${what} with `, filter);
  const count = document.createElement('span');
  count.setAttribute('role', 'status');
  label.append(' ', count);
  (table.parentElement ?? table).before(label);
  filter.addEventListener('input', () => {
    const word = filter.value.toLowerCase();
    let shown = 0;
    for (const row of body.rows) {
      row.hidden = !(row.cells[0]?.textContent ?? '').toLowerCase().includes(word);
      if (!row.hidden) ++shown;
    }
    count.textContent = word === '' ? '' : `${shown} of ${body.rows.length}`;
  });
}

function addSorting(head: HTMLTableRowElement, body: HTMLTableSectionElement): void {
  for (const [column, cell] of [...head.cells].entries()) {
    if (cell.dataset.fixed !== undefined || cell.tagName !== 'TH') continue;
    const button = document.createElement('button');
    button.type = 'button';
    button.append(...cell.childNodes);
    cell.replaceChildren(button);
    button.addEventListener('click', () => {
      const descending = cell.getAttribute('aria-sort') !== 'descending';
      for (const other of head.cells) other.removeAttribute('aria-sort');
      cell.setAttribute('aria-sort', descending ? 'descending' : 'ascending');
      body.append(...sortRows([...body.rows], column, descending));
    });
  }
}

export function liveTables(): void {
  for (const table of document.querySelectorAll<HTMLTableElement>('table[data-sort]')) {
    const body = table.tBodies[0];
    const head = table.tHead?.rows[0];
    if (body === undefined || head === undefined) continue;
    if (table.dataset.filter !== undefined) addFilter(table, body, table.dataset.filter);
    if (body.rows.length > 1) addSorting(head, body);
  }
}
