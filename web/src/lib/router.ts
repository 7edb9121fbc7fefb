// Addresses of the pages. Every one can be typed in, kept as a bookmark and gone back to.

export const pages = ['sunday', 'fault', 'organ', 'choosing', 'piece', 'pipes', 'bench'] as const;
export type PageName = (typeof pages)[number];

export interface Route {
  page: PageName | 'nowhere';
  /** What stands after the page: a date, a piece, the number of a run; empty where there is nothing. */
  key: string;
  query: Record<string, string>;
}

export function parseAddress(path: string, search = ''): Route {
  const [first = '', ...rest] = path.split('/').filter((s) => s !== '');
  const query = Object.fromEntries(new URLSearchParams(search));
  const key = rest.map(decoded).join('/');
  if (first === '') return { page: 'sunday', key: '', query };
  const page = pages.find((p) => p === first);
  if (page === undefined) return { page: 'nowhere', key: first, query };
  return { page, key: page === 'piece' ? key.replace(/\/score$/, '') : key, query };
}

function decoded(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part;
  }
}

/** The address of a page; empty and missing values of the query are left out. */
export function address(page: PageName, key = '', query: Record<string, string | number | undefined> = {}): string {
  const said = Object.entries(query).filter(([, v]) => v !== undefined && v !== '');
  const asked = new URLSearchParams(said.map(([k, v]) => [k, String(v)])).toString();
  // A piece goes by its file's name; an address that ends with a dot and letters would be asked for as a file.
  const named = key === '' ? '' : `/${encodeURIComponent(key)}${page === 'piece' ? '/score' : ''}`;
  return `/${page}${named}${asked === '' ? '' : `?${asked}`}`;
}
