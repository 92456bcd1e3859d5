/** The worker thread that builds the spatial index of one scan. */
import { parentPort, workerData } from 'node:worker_threads';
import { memoryOfIndex, packIndex, type Scan } from '@fettle/geom';

const packed = packIndex(workerData as Scan);
parentPort!.postMessage(packed, memoryOfIndex(packed));
