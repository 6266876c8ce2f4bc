// The words of a lesson under its sound: an audio element shows no captions by itself.

const sound = document.getElementById("lesson-sound");
const caption = document.getElementById("caption");
if (sound) {
  const track = sound.textTracks[0];
  track.mode = "hidden"; // its cues are loaded and told, nothing is drawn
  track.addEventListener("cuechange", () => {
    caption.textContent = [...track.activeCues].map((cue) => cue.text.replaceAll("&lt;", "<").replaceAll("&gt;", ">").replaceAll("&amp;", "&")).join(" ");
  });
}
