// What this browser remembers of how its page is to be: whether it sounds, which key is the foot switch.
const MADE = { sounds: "on", spoken: "off", foot_key: "F9" };

export const remembered = (name) => localStorage.getItem(name) ?? MADE[name];
export const remember = (name, value) => localStorage.setItem(name, value);
