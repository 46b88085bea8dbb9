// Makes a finished page livelier; without it the page says the same.
import 'uplot/dist/uPlot.min.css';
import { drawCharts } from './charts';
import { readData } from './data';
import { liveTable } from './table';

drawCharts(readData(document.getElementById('data')?.textContent ?? null));
const plates = document.getElementById('plates');
if (plates instanceof HTMLTableElement) liveTable(plates);
document.documentElement.dataset.live = 'yes';
