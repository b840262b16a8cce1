// How old a word of the furnace is. The server's own clock says when it was sent; a short question and answer says how far this
// phone's clock is from it. So what lay in a queue on the way is as old as it is, and no clock that was set wrong matters.

const ASK_EVERY_S = 60, DOUBT_S = 3, ASK_AGAIN_S = 2;

let lastTick = performance.now(), lastDate = Date.now(), runS = 0;

// Seconds of this phone, never fewer than have passed: one of its clocks may stand still while it sleeps.
export function clockS() {
  const tick = performance.now(), date = Date.now();
  runS += Math.max(tick - lastTick, date - lastDate, 0) / 1000;
  lastTick = tick;
  lastDate = date;
  return runS;
}

export class Age {
  #aheadS = null; // this phone's clock is at least so far ahead of the server's
  #askedS = -Infinity;
  #word = null; // {ageS, sentS, cameS}

  // A word came: so old when it was sent, sent at that time of the server's. askedS: no earlier than this phone asked for it.
  came(ageS, sentS, askedS) {
    if (ageS === null || ageS === undefined) return;
    this.#aheadS ??= askedS - sentS;
    this.#word = { ageS, sentS, cameS: clockS() };
    if (this.lateS() > DOUBT_S) this.ask(ASK_AGAIN_S);
  }

  // How long the last word was on its way, at most.
  lateS() {
    return this.#word ? Math.max(0, this.#word.cameS - this.#word.sentS - this.#aheadS) : 0;
  }

  get s() {
    if (!this.#word) return Infinity;
    return this.#word.ageS + this.lateS() + clockS() - this.#word.cameS;
  }

  // The server's clock now, as far as it is known; null: not yet.
  get serverS() {
    return this.#aheadS === null ? null : clockS() - this.#aheadS;
  }

  // Asks the server for its time, unless that was done a short while ago.
  async ask(everyS = ASK_EVERY_S) {
    const askedS = clockS();
    if (askedS - this.#askedS < everyS) return;
    this.#askedS = askedS;
    try {
      const answer = await fetch("/clock.json", { signal: AbortSignal.timeout(3000) });
      this.#aheadS = askedS - (await answer.json()).sent_s;
    } catch { /* what was known before stands; the age goes on growing */ }
  }
}
