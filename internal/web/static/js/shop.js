// What the shop knows of a hold meanwhile: the presses of all devices, and the watch that runs.

const AGAIN = 3000; // ms before a stream that was refused is tried once more

/** Shop hears of a hold of a job. */
export class Shop {
  #asking = false;
  #again = false;
  #heard = () => {};

  /** runs is the watch that runs, {watch, device, by, on, at}, null for none. */
  constructor(job, hold, runs) {
    Object.assign(this, { job, hold, runs });
  }

  /** listen calls heard({presses, seq, runs}) after each change of the job that the shop tells of. */
  listen(heard) {
    this.#heard = heard;
    const stream = new EventSource(`/board/events?job=${encodeURIComponent(this.job)}`);
    stream.addEventListener("jobs", () => this.look());
    stream.addEventListener("open", () => this.look()); // what came in while nobody heard
    stream.addEventListener("error", () => {
      if (stream.readyState !== EventSource.CLOSED) return; // the browser tries again by itself
      setTimeout(() => this.listen(heard), AGAIN);
    });
  }

  /** look asks for the presses once; a question that comes in meanwhile is asked afterwards. */
  async look() {
    if (this.#asking) {
      this.#again = true;
      return;
    }
    this.#asking = true;
    try {
      const r = await fetch(`/jobs/${encodeURIComponent(this.job)}/presses?hold=${encodeURIComponent(this.hold)}`, { headers: { Accept: "application/json" }, credentials: "same-origin", redirect: "manual", cache: "no-store" });
      if (r.ok) {
        const news = await r.json();
        this.runs = news.runs;
        await this.#heard(news);
      }
    } catch { /* no network: the stream says when there is one again */ } finally {
      this.#asking = false;
    }
    if (this.#again) {
      this.#again = false;
      await this.look();
    }
  }
}
