"use strict";
// Puts what the core says into the page. It computes nothing: every text, list and drawing comes from the core, ready.
(async () => {
  const id = (name) => document.getElementById(name);
  const text = id("core").textContent.trim();
  const packed = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const unpacked = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  const bytes = await new Response(unpacked).arrayBuffer();
  const { instance } = await WebAssembly.instantiate(bytes, {});
  const core = instance.exports;
  const [to, from] = [new TextEncoder(), new TextDecoder()];

  const ask = (question, words) => {
    const sent = to.encode(words);
    const place = core.room(sent.length);
    new Uint8Array(core.memory.buffer, place, sent.length).set(sent);
    const length = core[question]();
    return from.decode(new Uint8Array(core.memory.buffer, core.answer(), length));
  };

  // Drawings come as text; they are read as a document of their own, in which nothing runs.
  const reader = new DOMParser();
  const draw = (spot, markup) => {
    if (spot.studbayDrawn === markup) return;
    const drawn = reader.parseFromString(markup, "image/svg+xml").documentElement;
    if (drawn.nodeName !== "svg") return;
    spot.replaceChildren(document.importNode(drawn, true));
    spot.studbayDrawn = markup;
  };
  const write = (spot, words) => {
    if (words !== undefined && spot.textContent !== words) spot.textContent = words;
  };
  const all = (root, mark) => root.querySelectorAll(`[data-${mark}]`);
  const fill = (item, line) => {
    const spots = [item, ...item.querySelectorAll("*")];
    for (const spot of spots) {
      if (spot.dataset.text) write(spot, line[spot.dataset.text] ?? "");
      if (spot.dataset.drawing) draw(spot, line[spot.dataset.drawing]);
    }
  };
  const list = (spot, lines) => {
    const template = spot.querySelector(":scope > template");
    const items = [...spot.children].filter((child) => child !== template);
    lines.forEach((line, place) => {
      const item = items[place] ?? spot.appendChild(template.content.firstElementChild.cloneNode(true));
      fill(item, line);
    });
    items.slice(lines.length).forEach((item) => item.remove());
  };
  const texts = [...all(document, "text")].filter((spot) => !spot.closest("[data-list]"));
  const drawings = [...all(document, "drawing")].filter((spot) => !spot.closest("[data-list]"));
  const show = (view) => {
    for (const spot of texts) write(spot, view.text[spot.dataset.text]);
    for (const spot of drawings) draw(spot, view.drawing[spot.dataset.drawing]);
    for (const spot of all(document, "list")) list(spot, view.list[spot.dataset.list]);
    for (const spot of all(document, "part")) spot.hidden = !view.part[spot.dataset.part];
  };

  const wrong = ask("begin", id("beginning").textContent);
  if (wrong) throw new Error(wrong);
  const sliders = [...document.querySelectorAll("#sliders input")];
  const misfit = id("misfit");
  let waiting = 0;
  const stops = () => JSON.stringify(sliders.map((slider) => Number(slider.value)));
  const move = () => {
    const view = JSON.parse(ask("show", stops()));
    misfit.hidden = !view.error;
    if (view.error) {
      misfit.querySelector("span").textContent = view.error;
      return;
    }
    show(view);
    sliders.forEach((slider, place) => {
      slider.setAttribute("aria-valuetext", view.text[`slider_${place}`]);
    });
    // One sentence for a screen reader, once the hand rests.
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      id("said").textContent = `${view.text.payback}. ${view.text.payback_range}`;
    }, 500);
  };
  for (const slider of sliders) slider.addEventListener("input", move);
  document.querySelector("#sliders form").addEventListener("reset", () => setTimeout(move));
  id("sliders").hidden = false;
  document.documentElement.dataset.live = "yes";
  // A browser compiles the core better once it has run for a while: it runs before the first slider is moved, when there is nothing else to do.
  const idle = window.requestIdleCallback ?? ((call) => setTimeout(call, 50));
  const warm = (turns) => {
    if (turns === 0) document.documentElement.dataset.warm = "yes";
    else idle(() => (ask("show", stops()), warm(turns - 1)));
  };
  warm(24);
})().catch((reason) => console.warn("studbay: the page stays still:", reason));
