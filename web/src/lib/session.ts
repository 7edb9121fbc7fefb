// `calcant desk` opens the browser with this run's token behind '#' in the address. It is changed for a cookie and kept
// for this origin alone (changes want it in a header), and taken out of the address, so that no bookmark holds it.
const place = 'calcant-token';

export function token(): string {
  try {
    return localStorage.getItem(place) ?? held;
  } catch {
    return held;
  }
}
let held = '';

function keep(given: string): void {
  held = given;
  try {
    localStorage.setItem(place, given);
  } catch {
    // It then holds for this tab only.
  }
}

export async function beginSession(): Promise<void> {
  const given = /^#([0-9a-f]{32})$/.exec(location.hash)?.[1];
  if (given === undefined) return;
  keep(given);
  history.replaceState(null, '', location.pathname + location.search);
  await renewSession();
}

/** Hands the token in for a cookie, as often as it takes when the desk is only just up; false: it is of another run. */
export async function renewSession(): Promise<boolean> {
  for (let tried = 0; tried < 3 && token() !== ''; tried++) {
    try {
      const headers = { 'Content-Type': 'application/json' };
      const body = JSON.stringify({ token: token() });
      const answer = await fetch('/api/session', { method: 'POST', headers, credentials: 'same-origin', body });
      await answer.text();
      if (answer.ok) return true;
      if (answer.status < 500) return false;
    } catch {
      // The first page says that the desk is out of reach.
    }
  }
  return false;
}
