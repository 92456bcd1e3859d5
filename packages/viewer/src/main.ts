const page = document.querySelector('#page');
if (page) page.textContent = 'Fettle measures scans with the command and the library. This page is not built yet.';
