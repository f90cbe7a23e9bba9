// Says a sentence aloud: by a voice of this computer's own, else by a recording; and beeps.
const told = JSON.parse(document.querySelector("#spoken").textContent);
let playing = null;
let sound = null;

/** The words of a sentence. @param {string} name */
export function words(name) {
  return told.says[name] || "";
}

/** Say a sentence; what was being said before is cut short. @param {string} name @returns {Promise<void>} when it has been said */
export async function say(name) {
  hush();
  const voice = own();
  await (voice ? byVoice(voice, words(name)) : byRecording(name));
}

/** Be quiet. */
export function hush() {
  window.speechSynthesis?.cancel();
  playing?.pause();
  playing = null;
}

/** A short tone. @param {number} hertz @param {number} [seconds] */
export function beep(hertz, seconds = 0.12) {
  sound ||= new AudioContext();
  const [tone, loud] = [sound.createOscillator(), sound.createGain()];
  tone.frequency.value = hertz;
  loud.gain.setValueAtTime(0.25, sound.currentTime);
  loud.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + seconds);
  tone.connect(loud).connect(sound.destination);
  tone.start();
  tone.stop(sound.currentTime + seconds);
}

/** A voice in our language that lives on this computer; one that asks a voice elsewhere is not used. */
function own() {
  const voices = window.speechSynthesis?.getVoices() || [];
  return voices.find((voice) => voice.localService && voice.lang.toLowerCase().startsWith(told.language));
}

function byVoice(voice, text) {
  return new Promise((done) => {
    const spoken = Object.assign(new SpeechSynthesisUtterance(text), { voice, lang: voice.lang, rate: 0.95 });
    spoken.onend = spoken.onerror = () => done();
    window.speechSynthesis.speak(spoken);
  });
}

function byRecording(name) {
  return new Promise((done) => {
    playing = new Audio(`/spoken/${name}.mp3`);
    playing.onended = playing.onerror = playing.onpause = () => done();
    playing.play().catch(() => done()); // a computer without loudspeaker
  });
}
