// Makes the map follow the hand: drag, pinch and keys move the picture at once, and so does the wheel once the map
// was clicked (else it scrolls the page). The server then draws the window anew, as it does for the buttons.
// Without this script the buttons do everything.
"use strict";

const MOST_ZOOM = 16;
const REST = 220;
const stand = document.getElementById("map");

if (stand) {
  let moved = { x: 0, y: 0, scale: 1 };
  let timer = 0;
  let asked = 0;
  let dragged = false;
  // Where the picture stood when the first finger came down.
  let rested = moved;
  const fingers = new Map();

  const hold = () => stand.querySelector(".map-hold");
  const sheet = () => [...stand.querySelectorAll("svg.map")].find((svg) => svg.getClientRects().length > 0);
  const size = (svg) => ({ width: svg.viewBox.baseVal.width, height: svg.viewBox.baseVal.height });

  // From a place on the screen to units of the sheet.
  const unit = (svg, event) => {
    const box = svg.getBoundingClientRect();
    const { width, height } = size(svg);
    return { x: ((event.clientX - box.left) * width) / box.width, y: ((event.clientY - box.top) * height) / box.height };
  };

  const show = (svg) => {
    svg.querySelector(".map-moving").setAttribute("transform", `translate(${moved.x} ${moved.y}) scale(${moved.scale})`);
  };

  const zoomAround = (svg, factor, point) => {
    const zoom = Number(svg.dataset.zoom);
    const least = 2 ** -zoom;
    const scale = Math.min(Math.max(moved.scale * factor, least), 2 ** (MOST_ZOOM - zoom));
    const ratio = scale / moved.scale;
    moved = { x: point.x - (point.x - moved.x) * ratio, y: point.y - (point.y - moved.y) * ratio, scale };
    show(svg);
    settle();
  };

  const pan = (svg, x, y) => {
    moved = { ...moved, x: moved.x + x, y: moved.y + y };
    show(svg);
    settle();
  };

  // The address of the window that is seen now.
  const target = (svg) => {
    const { width, height } = size(svg);
    const { lat, lon, zoom, scale, narrowing } = svg.dataset;
    const x = (width / 2 - moved.x) / moved.scale - width / 2;
    const y = (height / 2 - moved.y) / moved.scale - height / 2;
    const address = new URL(window.location.href);
    address.hash = "";
    const latitude = Number(lat) - y / Number(scale);
    const longitude = Number(lon) + x / (Number(scale) * Number(narrowing));
    address.searchParams.set("lat", Math.min(Math.max(latitude, -90), 90).toFixed(6));
    address.searchParams.set("lon", Math.min(Math.max(longitude, -180), 180).toFixed(6));
    address.searchParams.set("zoom", String(Math.round((Number(zoom) + Math.log2(moved.scale)) * 100) / 100));
    return address;
  };

  const settle = () => {
    window.clearTimeout(timer);
    asked += 1; // an answer still on its way is no longer the one wanted
    timer = window.setTimeout(() => fetchWindow(target(sheet())), REST);
  };

  const fetchWindow = async (address, keep = "replaceState") => {
    const mine = ++asked;
    try {
      const answer = await fetch(address, { headers: { Accept: "text/html" } });
      if (!answer.ok) throw new Error(String(answer.status));
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine !== asked || fingers.size) return;
      replace(page);
      if (keep) window.history[keep](null, "", address);
    } catch {
      if (mine === asked) window.location.assign(address);
    }
  };

  const replace = (page) => {
    const focused = document.activeElement;
    const key = focused?.dataset?.key;
    const move = focused?.dataset?.move;
    hold().replaceChildren(...page.querySelector("#map .map-hold").childNodes);
    for (const link of page.querySelectorAll("#map [data-move]")) {
      stand.querySelector(`[data-move="${link.dataset.move}"]`).setAttribute("href", link.getAttribute("href"));
    }
    document.getElementById("map-status").textContent = page.getElementById("map-status").textContent;
    document.getElementById("map-facts").replaceWith(page.getElementById("map-facts"));
    for (const [name, value] of new URL(page.querySelector('[data-move="in"]').getAttribute("href"), window.location.href).searchParams) {
      const field = document.querySelector(`form.filters input[type="hidden"][name="${name}"]`);
      if (field) field.value = value;
    }
    moved = { x: 0, y: 0, scale: 1 };
    stand.dataset.drawn = String(Number(stand.dataset.drawn || 0) + 1);
    if (key) (sheet().querySelector(`[data-key="${key}"]`) || hold()).focus();
    if (move) stand.querySelector(`[data-move="${move}"]`).focus();
  };

  stand.addEventListener("wheel", (event) => {
    const svg = event.target.closest("svg.map");
    if (!svg || !(event.ctrlKey || hold().contains(document.activeElement))) return;
    event.preventDefault();
    zoomAround(svg, 2 ** (-event.deltaY / 300), unit(svg, event));
  }, { passive: false });

  stand.addEventListener("pointerdown", (event) => {
    const svg = event.target.closest("svg.map");
    if (!svg || event.button) return;
    if (!fingers.size) rested = moved;
    fingers.set(event.pointerId, unit(svg, event));
    dragged = false;
  });

  window.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    const svg = sheet();
    if (!before || !svg) return;
    const now = unit(svg, event);
    if (!dragged && Math.hypot(now.x - before.x, now.y - before.y) < 4) return;
    dragged = true;
    if (fingers.size === 2) {
      const other = [...fingers].find(([id]) => id !== event.pointerId)[1];
      const span = (point) => Math.hypot(point.x - other.x, point.y - other.y) || 1;
      moved = { ...moved, x: moved.x + (now.x - before.x) / 2, y: moved.y + (now.y - before.y) / 2 };
      zoomAround(svg, span(now) / span(before), { x: (now.x + other.x) / 2, y: (now.y + other.y) / 2 });
    } else {
      pan(svg, now.x - before.x, now.y - before.y);
    }
    fingers.set(event.pointerId, now);
  });

  for (const end of ["pointerup", "pointercancel"]) {
    window.addEventListener(end, (event) => {
      const own = fingers.delete(event.pointerId);
      if (own && end === "pointercancel") { // the finger scrolls the page after all: the picture goes back
        moved = rested;
        show(sheet());
        window.clearTimeout(timer);
      }
      const shifted = moved.x !== 0 || moved.y !== 0 || moved.scale !== 1;
      if (own && shifted) settle();
    });
  }

  // A drag that ends on a mark is no click on it.
  stand.addEventListener("click", (event) => {
    if (dragged && event.target.closest("svg.map")) {
      event.preventDefault();
      dragged = false;
      return;
    }
    const link = event.target.closest("[data-move], a.map-mark");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const address = new URL(link.getAttribute("href"), window.location.href);
    if (address.pathname !== window.location.pathname || address.hash !== "#map") return;
    event.preventDefault();
    window.clearTimeout(timer);
    fetchWindow(address, "pushState");
  });

  window.addEventListener("popstate", () => fetchWindow(new URL(window.location.href), ""));

  stand.addEventListener("dragstart", (event) => event.preventDefault());

  stand.addEventListener("keydown", (event) => {
    const svg = event.target.closest(".map-hold") && sheet();
    if (!svg || event.ctrlKey || event.metaKey || event.altKey) return;
    const { width, height } = size(svg);
    const middle = { x: width / 2, y: height / 2 };
    const step = width / 8;
    const keys = {
      "+": () => zoomAround(svg, Math.SQRT2, middle),
      "=": () => zoomAround(svg, Math.SQRT2, middle),
      "-": () => zoomAround(svg, Math.SQRT1_2, middle),
      "0": () => stand.querySelector('[data-move="whole"]').click(),
      ArrowLeft: () => pan(svg, step, 0),
      ArrowRight: () => pan(svg, -step, 0),
      ArrowUp: () => pan(svg, 0, step),
      ArrowDown: () => pan(svg, 0, -step),
    };
    if (!keys[event.key]) return;
    event.preventDefault();
    keys[event.key]();
  });
}
