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
  // The server sends parts of the page as trees; they are built of elements and text, so no text is ever markup.
  const TAGS = new Set('B Caption Dd Div Dl Dt H2 Li Ol P Small Span Table Tbody Td Th Thead Tr Ul'.split(' '));
  const build = part => {
    if (part === null || part === undefined) return [];
    if (Array.isArray(part)) return part.flatMap(build);
    if (typeof part !== 'object') return [document.createTextNode(String(part))];
    if (!TAGS.has(part.type)) return [];
    const {children, className, style, scope} = part.props;
    const made = document.createElement(part.type);
    if (className) made.className = className;
    if (scope) made.setAttribute('scope', scope);
    Object.assign(made.style, style || {});
    made.append(...build(children));
    return [made];
  };
  const painted = {};
  const paint = (id, tree, look) => {
    const place = document.getElementById(id);
    if (!place) return;
    const text = JSON.stringify(tree);
    if (painted[id] !== text) place.replaceChildren(...build(tree));
    painted[id] = text;
    if (look !== undefined && place.className !== look) place.className = look;
  };
  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    tradespace: {
      moved: (sliders, architecture, across, up, pins, ...told) => {
        ask({positions: sliders.map(Number), architecture, axes: [across, up], pins}, told.map(one => one && one.number));
        return dash_clientside.no_update;
      },
      named: (sliders, texts, order) => {
        write('value', order, sliders.map((place, index) => texts[index][Number(place)]));
        return dash_clientside.no_update;
      },
      painted: (quick, map, drawn, hints, order) => {
        if (quick) {
          paint('verdict', quick.verdict, quick.look);
          paint('key', quick.key);
          paint('links', quick.links);
        }
        if (map) paint('map-words', map.words);
        if (drawn) paint('side', drawn.side);
        if (hints) {
          write('hint', order, hints.hints);
          paint('needs', hints.needs);
        }
        return dash_clientside.no_update;
      },
    },
  });
})();
