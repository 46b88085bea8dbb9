// Makes a finished page livelier; without it the page says the same.
import { liveCharts } from './chart';
import { readData } from './data';
import { liveTables } from './table';

liveCharts(readData(document.getElementById('data')?.textContent ?? null));
liveTables();
document.documentElement.dataset.live = 'yes';
