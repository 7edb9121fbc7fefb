// Day, loft, or as the system has it.
export type Light = 'system' | 'day' | 'loft';

function stored(): Light {
  const set = document.documentElement.dataset['light'];
  return set === 'day' || set === 'loft' ? set : 'system';
}

const now = $state({ light: stored() });
export const light = (): Light => now.light;

export function setLight(to: Light): void {
  now.light = to;
  if (to === 'system') delete document.documentElement.dataset['light'];
  else document.documentElement.dataset['light'] = to;
  try {
    if (to === 'system') localStorage.removeItem('light');
    else localStorage.setItem('light', to);
  } catch {
    // It then holds for this visit only.
  }
}
