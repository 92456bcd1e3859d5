import { installedPath } from './find-browser.js';

// Where a Chromium is installed on this machine that the tests can run in; nothing where there is none.
console.log(installedPath() ?? '');
