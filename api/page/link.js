// The live socket and its watchdog: half a second without a frame, and the number is dead.
const DEAD_MS = 500;
const LOOK_MS = 100;
const RETRY_MS = 1000;

// onFrame(progress message), onEntry(entry message), onLife(true or false)
export function listen(onFrame, onEntry, onLife) {
  let heardMs = -Infinity;
  let alive = null;

  function life(now) {
    if (now === alive) return;
    alive = now;
    onLife(now);
  }

  function open() {
    const socket = new WebSocket(`ws://${location.host}/api/v1/live`);
    socket.onmessage = (event) => {
      const message = JSON.parse(event.data);
      if (message.type === "entry") onEntry(message);
      if (message.type !== "progress") return;
      heardMs = performance.now();
      onFrame(message);
      life(true);
    };
    socket.onclose = () => setTimeout(open, RETRY_MS);
  }

  setInterval(() => {
    if (performance.now() - heardMs > DEAD_MS) life(false);
  }, LOOK_MS);
  life(false);
  open();
}
