// Which keys move the sheet on. Any key does, so that nobody has to look; back is what feels like back.
type Key = Pick<KeyboardEvent, 'key' | 'shiftKey' | 'ctrlKey' | 'altKey' | 'metaKey' | 'repeat'>;

/** Keys the browser needs, and keys that only go with others. */
export function passes(e: Key): boolean {
  if (e.ctrlKey || e.altKey || e.metaKey || e.repeat) return true;
  return ['Tab', 'Escape', 'Shift', 'Control', 'Alt', 'Meta', 'AltGraph', 'CapsLock', 'ContextMenu'].includes(e.key) || /^F\d+$/.test(e.key);
}

export function backing(e: Key): boolean {
  return e.shiftKey || ['ArrowLeft', 'ArrowUp', 'PageUp', 'Backspace', 'Home'].includes(e.key);
}
