"use strict";
(function () {
  const data = JSON.parse(document.getElementById("data").textContent);

  function clock(seconds) {
    const s = Math.floor(seconds);
    return Math.floor(s / 60) + ":" + String(s % 60).padStart(2, "0");
  }

  // One player a push: its films in order, and the notes that show on them.
  const players = data.pushes.map(function (films, n) {
    const section = document.querySelector('.push[data-push="' + n + '"]');
    const video = section && section.querySelector("video");
    if (!video || films.length === 0) return null;
    const now = section.querySelector(".now output bdi");
    const chart = section.querySelector(".chart svg");
    const hand = chart && chart.querySelector(".hand");
    // Browsers refuse to load a file of notes from a folder, so the notes stand here.
    const track = video.addTextTrack("subtitles", data.label, data.lang);
    // Where the notes are burned in already, they are only told below the picture.
    track.mode = data.burned[n] ? "hidden" : "showing";
    let film = 0;

    function fillNotes() {
      while (track.cues && track.cues.length > 0) track.removeCue(track.cues[0]);
      for (const c of films[film].cues) track.addCue(new VTTCue(c.from, c.to, c.text));
    }
    function seek(seconds) {
      if (video.readyState > 0) { video.currentTime = seconds; return; }
      video.addEventListener("loadedmetadata", function () { video.currentTime = seconds; }, { once: true });
      video.load();
    }
    // show goes to a moment of the joined recording.
    function show(at) {
      let wanted = 0;
      films.forEach(function (v, i) { if (at >= v.from - 1e-6) wanted = i; });
      if (wanted !== film) {
        film = wanted;
        video.src = films[film].link;
        fillNotes();
      }
      seek(Math.max(0, at - films[film].from));
    }
    function moment() { return films[film].from + video.currentTime; }

    fillNotes();
    video.addEventListener("ended", function () {
      if (film + 1 < films.length) { show(films[film + 1].from); video.play(); }
    });
    track.addEventListener("cuechange", function () {
      const plain = document.createElement("textarea");
      now.textContent = Array.from(track.activeCues || []).map(function (c) {
        plain.innerHTML = c.text;
        return plain.value;
      }).join("\n");
    });
    if (chart) {
      const left = +chart.dataset.left, right = +chart.dataset.right, from = +chart.dataset.from, to = +chart.dataset.to;
      video.addEventListener("timeupdate", function () {
        const x = left + (moment() - from) / (to - from) * (right - left);
        hand.setAttribute("x1", x);
        hand.setAttribute("x2", x);
        chart.setAttribute("aria-valuenow", moment().toFixed(1));
        chart.setAttribute("aria-valuetext", clock(moment()));
      });
      // By keyboard, as any slider.
      chart.addEventListener("keydown", function (e) {
        const step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[e.key];
        const at = e.key === "Home" ? from : e.key === "End" ? to : step ? moment() + step : NaN;
        if (isNaN(at) || e.ctrlKey || e.metaKey || e.altKey) return;
        e.preventDefault();
        show(Math.min(to, Math.max(from, at)));
      });
      chart.addEventListener("click", function (e) {
        const box = chart.getBoundingClientRect();
        const x = (e.clientX - box.left) / box.width * chart.viewBox.baseVal.width;
        show(Math.min(to, Math.max(from, from + (x - left) / (right - left) * (to - from))));
      });
    }
    return { show: show, video: video };
  });

  // What a browser would only fetch once it is scrolled to is wanted on paper.
  window.addEventListener("beforeprint", function () {
    document.querySelectorAll("img").forEach(function (i) { i.loading = "eager"; });
  });

  document.addEventListener("click", function (e) {
    const button = e.target.closest(".watch");
    if (button) {
      const p = players[+button.dataset.push];
      if (!p) return;
      p.show(+button.dataset.at);
      p.video.scrollIntoView({ block: "center" });
      p.video.focus({ preventScroll: true });
      const playing = p.video.play();
      if (playing) playing.catch(function () { /* the browser wants another click: the picture stands there */ });
      return;
    }
    const still = e.target.closest("a.still, a.photo");
    const large = document.querySelector("dialog");
    if (still && large.showModal && !e.ctrlKey && !e.metaKey && !e.shiftKey) {
      e.preventDefault();
      const picture = large.querySelector("img");
      picture.src = still.href;
      picture.alt = still.dataset.large;
      large.showModal();
    }
  });
})();
