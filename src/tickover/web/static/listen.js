// A recording is decoded here where the bench cannot read it (what a phone records), made one
// channel of 16 bits, and sent with its progress told. Without this a plain upload does it.
"use strict";
(function () {
  const LONGEST = 300; // what is sent of a longer recording [s]
  const AS_IT_IS = 25e6; // a larger file is made smaller first [bytes]
  const LARGEST = 300e6; // [bytes]
  const RATE = 48000; // [Hz]
  if (!window.OfflineAudioContext || !window.FormData) return;

  function mark(bytes, at, word) {
    for (let i = 0; i < word.length; i += 1) {
      if (bytes[at + i] !== word.charCodeAt(i)) return false;
    }
    return true;
  }
  // WAV, FLAC, OGG, MP3: the bench reads these itself
  function plain(bytes) {
    return (mark(bytes, 0, "RIFF") && mark(bytes, 8, "WAVE")) || mark(bytes, 0, "fLaC") ||
      mark(bytes, 0, "OggS") || mark(bytes, 0, "ID3") ||
      (bytes[0] === 0xff && (bytes[1] & 0xe6) === 0xe2);
  }
  function wav(sound) {
    const count = Math.min(sound.length, LONGEST * sound.sampleRate);
    const view = new DataView(new ArrayBuffer(44 + 2 * count));
    const put = function (at, word) {
      for (let i = 0; i < word.length; i += 1) view.setUint8(at + i, word.charCodeAt(i));
    };
    put(0, "RIFF");
    view.setUint32(4, 36 + 2 * count, true);
    put(8, "WAVEfmt ");
    view.setUint32(16, 16, true);
    view.setUint16(20, 1, true);
    view.setUint16(22, 1, true);
    view.setUint32(24, sound.sampleRate, true);
    view.setUint32(28, 2 * sound.sampleRate, true);
    view.setUint16(32, 2, true);
    view.setUint16(34, 16, true);
    put(36, "data");
    view.setUint32(40, 2 * count, true);
    const channels = [];
    for (let c = 0; c < sound.numberOfChannels; c += 1) channels.push(sound.getChannelData(c));
    for (let i = 0; i < count; i += 1) {
      let sum = 0;
      for (const channel of channels) sum += channel[i];
      const value = Math.max(-1, Math.min(1, sum / channels.length));
      view.setInt16(44 + 2 * i, Math.round(32767 * value), true);
    }
    return new Blob([view.buffer], { type: "audio/wav" });
  }
  function tell(words, share) {
    const told = document.getElementById("listening-told");
    if (!told) return;
    told.textContent = words;
    told.className = words ? "notice" : "";
    if (share !== undefined) {
      const bar = document.createElement("progress");
      bar.max = 1;
      bar.value = share;
      bar.setAttribute("aria-label", words);
      told.append(" ", bar);
    }
  }
  function refuse(form, words) {
    delete form.dataset.busy;
    form.querySelectorAll("button").forEach(function (b) { b.disabled = false; });
    const told = document.getElementById("listening-told");
    tell(words);
    told.className = "wrong";
    told.setAttribute("tabindex", "-1");
    told.focus();
  }
  function send(form, name, body) {
    const data = new FormData(form);
    data.delete("recording");
    data.append("recording", body, name);
    const request = new XMLHttpRequest();
    request.open("POST", form.action.split("#")[0]);
    request.responseType = "document";
    request.upload.onprogress = function (event) {
      if (event.lengthComputable) tell("Sending ...", event.loaded / event.total);
    };
    request.upload.onload = function () { tell("Listening ... a first recording takes longer."); };
    request.onerror = function () {
      refuse(form, "The bench does not answer. The recording is still chosen: press again.");
    };
    request.onload = function () {
      const fresh = request.response && request.response.getElementById("card");
      if (!fresh) {
        refuse(form, "The bench answered something else (" + request.status + "). Press again.");
        return;
      }
      if (request.status < 400) history.pushState({}, "", request.responseURL);
      const card = document.importNode(fresh, true);
      card.querySelectorAll("script").forEach(function (script) { script.remove(); });
      document.getElementById("card").replaceWith(card);
      if (window.htmx) window.htmx.process(card);
      const verdict = document.getElementById(request.status < 400 ? "main" : "record");
      if (verdict) verdict.scrollIntoView();
      const main = document.getElementById("main");
      if (main) main.focus({ preventScroll: true });
    };
    request.send(data);
  }
  async function take(form, file) {
    form.dataset.busy = "yes";
    form.querySelectorAll("button").forEach(function (b) { b.disabled = true; });
    if (file.size > LARGEST) {
      refuse(form, "This file is too large (" + Math.round(file.size / 1e6) + " MB). Nothing was " +
        "sent. Record 20 to 60 seconds.");
      return;
    }
    tell("Reading the recording ...");
    let buffer;
    try {
      buffer = await file.arrayBuffer();
    } catch (error) {
      refuse(form, "The recording cannot be read any more. Choose it again.");
      return;
    }
    if (!buffer.byteLength) {
      refuse(form, "The recording is empty. Nothing was sent. Record again.");
      return;
    }
    if (plain(new Uint8Array(buffer, 0, Math.min(16, buffer.byteLength))) &&
        buffer.byteLength <= AS_IT_IS) {
      send(form, file.name, file);
      return;
    }
    tell("Decoding the recording ...");
    let sound;
    try {
      sound = await new OfflineAudioContext(1, 1, RATE).decodeAudioData(buffer);
    } catch (error) {
      refuse(form, "This browser can make no sound of “" + file.name + "”. Nothing was sent. " +
        "Record again, or give it as WAV, FLAC, OGG or MP3.");
      return;
    }
    send(form, file.name + ".wav", wav(sound));
  }
  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || form.id !== "listening") return;
    const inputs = form.querySelectorAll('input[type="file"]');
    const chosen = Array.from(inputs).map(function (i) { return i.files[0]; }).filter(Boolean);
    if (!chosen.length) return; // the bench says what is missing
    event.preventDefault();
    if (form.dataset.busy) return;
    take(form, chosen[chosen.length - 1]);
  });
})();
