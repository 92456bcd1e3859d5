export { FettleError } from '@fettle/geom';
