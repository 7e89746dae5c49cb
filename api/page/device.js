// What can be set for this browser alone: sounds, the spoken number, the foot switch.
import { choose } from "./ask.js";
import { learnFoot, stopLearning } from "./foot.js";
import { remember, remembered } from "./remembered.js";
import { canSpeak, sound, speak } from "./sounds.js";
import { say } from "./words.js";

export function askDevice() {
  stopLearning();
  choose({
    title: say("device"),
    help: say("foot_help", { key: remembered("foot_key") }),
    options: [
      { id: "sounds", text: onOff("sounds"), act: () => flip("sounds", () => sound("kept")) },
      ...(canSpeak() ? [{ id: "spoken", text: onOff("spoken"), act: () => flip("spoken", () => speak(say("spoken"))) }] : []),
      { id: "foot", text: say("foot", { key: remembered("foot_key") }), act: learn },
    ],
    left: stopLearning,
  });
}

const onOff = (name) => `${say(name)}: ${say(remembered(name))}`;

function flip(name, tried) {
  remember(name, remembered(name) === "on" ? "off" : "on");
  askDevice();
  tried();
}

function learn() {
  learnFoot(askDevice);
  choose({ title: say("device"), help: say("foot_learn"), options: [], left: stopLearning });
}
