// Before anything is drawn: the light the organist chose, so that no white page flashes in a dark loft.
try {
  const light = localStorage.getItem('light');
  if (light === 'day' || light === 'loft') document.documentElement.dataset.light = light;
} catch {
  // Storage may be closed to us; the system's own light then holds.
}
