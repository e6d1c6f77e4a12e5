// Asks for a new answer when something has moved, and never before the last one has come: nothing piles up.
// Pictures that take longer are asked for when the quick answers are there and nothing newer is wanted.
(() => {
  const PATIENCE = 4000; // ms after which an answer that never came is asked for again
  let last = null;
  let settled = 0;
  const ask = (want, told) => {
    const text = JSON.stringify(want);
    const done = last && told.every(one => one === last.number);
    if (last && last.text === text) {
      if (done && settled !== last.number) {
        settled = last.number;
        dash_clientside.set_props('settled', {data: last.data});
      }
      return;
    }
    if (last && !done && Date.now() - last.at < PATIENCE) return;
    const data = {number: last ? last.number + 1 : 1, ...want};
    last = {number: data.number, text, data, at: Date.now()};
    dash_clientside.set_props('asked', {data});
  };
  const write = (kind, order, words) => order.forEach((name, index) => {
    const place = document.getElementById(`${kind}-${name}`);
    if (place && place.textContent !== words[index]) place.textContent = words[index];
  });
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    tradespace: {
      moved: (sliders, architecture, across, up, pins, ...told) => {
        ask({positions: sliders.map(Number), architecture, axes: [across, up], pins}, told);
        return dash_clientside.no_update;
      },
      named: (sliders, texts, order) => {
        write('value', order, sliders.map((place, index) => texts[index][Number(place)]));
        return dash_clientside.no_update;
      },
      hinted: (hints, order) => {
        if (hints) write('hint', order, hints);
        return dash_clientside.no_update;
      },
    },
  });
})();
