/** Asks the service worker to keep these answers of the desk; true once they are kept. */
export async function keep(paths: string[]): Promise<boolean> {
  if (!('serviceWorker' in navigator)) return false;
  const ready = await Promise.race([navigator.serviceWorker.ready, new Promise<null>((r) => setTimeout(() => r(null), 8000))]);
  const worker = ready?.active;
  if (!worker) return false;
  return new Promise((resolve) => {
    const line = new MessageChannel();
    line.port1.onmessage = () => resolve(true);
    setTimeout(() => resolve(false), 8000);
    worker.postMessage({ keep: paths }, [line.port2]);
  });
}
