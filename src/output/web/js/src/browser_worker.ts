// The thread of the page that runs the program: told the module once, then one job after the other.
import { runJob, type Job } from './job.js';

let compiled: Promise<WebAssembly.Module> | undefined;

/** The module lies in the page as text: base64 of gzip. */
async function unpacked(text: string): Promise<WebAssembly.Module> {
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream('gzip'));
  return WebAssembly.compile(await new Response(stream).arrayBuffer());
}

self.onmessage = async (event: MessageEvent<{ module: string } | { job: Job; id: number }>) => {
  const message = event.data;
  if ('module' in message) {
    compiled = unpacked(message.module);
    return;
  }
  try {
    const result = runJob(await compiled!, message.job, (progress) => self.postMessage({ id: message.id, progress }));
    self.postMessage({ id: message.id, result });
  } catch (error) {
    self.postMessage({ id: message.id, fault: String(error) });
  }
};
