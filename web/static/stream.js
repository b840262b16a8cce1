// The stream of this page. This script comes first, waits for nothing and is no module, for a module waits for the whole page:
// the furnace's words are on their way while the rest still comes, and lie here until somebody hears.

window.stream = (({ page, id }) => {
  const KINDS = ["live", "age", "away", "full"], waiting = [];
  let source = null, begunAt = 0, act = (...said) => waiting.push(said);

  const stream = {
    page,
    id, // of the moment that the page was drawn of

    // after: the id of the last event that was shown; what happened since is told first.
    begin(after) {
      stream.end();
      begunAt = performance.now();
      source = new EventSource(`/live?page=${page}&after=${after}`);
      for (const kind of KINDS) source.addEventListener(kind, (e) => act(kind, JSON.parse(e.data)));
    },

    end() {
      source?.close();
      source = null;
    },

    // Milliseconds of this page when the stream was asked for; null: there is none.
    since: () => source && begunAt,

    // hear(kind, said) for what waits, and for all that comes.
    heard(hear) {
      act = hear;
      for (const said of waiting.splice(0)) act(...said);
    },
  };
  stream.begin(id);
  return stream;
})(document.currentScript.dataset);
