// What is heard at the bench: kept, not kept, look here; and the number, spoken where that is wished.
import { remembered } from "./remembered.js";

// Told apart by rhythm as well as by pitch: a shop is loud. [hertz, from second, for seconds]
const TUNES = {
  kept: [[660, 0, 0.09], [990, 0.1, 0.16]],
  not_kept: [[220, 0, 0.22], [165, 0.26, 0.34]],
  look_here: [[880, 0, 0.1], [880, 0.2, 0.1], [880, 0.4, 0.1]],
};
const LOUD = 0.35;
const EASE_S = 0.012; // a tone that starts at once clicks

let context = null;

// A browser lets a page sound only once somebody has touched it or pressed a key.
export function sound(name) {
  if (remembered("sounds") !== "on" || !navigator.userActivation?.hasBeenActive) return;
  context ??= new AudioContext();
  context.resume();
  for (const [hertz, from, long] of TUNES[name]) tone(hertz, context.currentTime + from, long);
}

function tone(hertz, from, long) {
  const made = new OscillatorNode(context, { frequency: hertz, type: "triangle" });
  const volume = new GainNode(context, { gain: 0 });
  volume.gain.setValueAtTime(0, from);
  volume.gain.linearRampToValueAtTime(LOUD, from + EASE_S);
  volume.gain.setValueAtTime(LOUD, from + long - EASE_S);
  volume.gain.linearRampToValueAtTime(0, from + long);
  made.connect(volume).connect(context.destination);
  made.start(from);
  made.stop(from + long);
}

export const canSpeak = () => "speechSynthesis" in window;

// Only the newest is spoken: what it was before is old by now.
export function speak(sentence) {
  if (remembered("spoken") !== "on" || !canSpeak()) return;
  const words = new SpeechSynthesisUtterance(sentence);
  words.lang = document.documentElement.lang;
  speechSynthesis.cancel();
  speechSynthesis.speak(words);
}
