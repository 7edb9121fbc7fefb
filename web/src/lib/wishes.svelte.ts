// The wish that is being answered: one question at a time, and always the latest one next. The first of a manual weighs all of its
// registrations and takes seconds; those after it are answered at once.
import { ask } from './api';
import { Work } from './tasks.svelte';
import type { Choices, ChooseWish } from './types';

class Wishes {
  readonly work = new Work<Choices>();
  choices = $state<Choices | null>(null);
  /** What `choices` answers, as it was asked. */
  answered = $state('');
  /** Where the wish stood, to go back to. */
  address = $state('/choosing');
  #wanted: ChooseWish | null = null;
  #asking = false;

  want(wish: ChooseWish): void {
    this.#wanted = wish;
    if (!this.#asking) void this.#answerAll();
  }
  /** The organ is another: what was answered holds no more. */
  forget(): void {
    this.answered = '';
  }

  async #answerAll(): Promise<void> {
    this.#asking = true;
    while (this.#wanted) {
      const wish = this.#wanted;
      const key = JSON.stringify(wish);
      this.#wanted = null;
      if (key === this.answered && this.choices) {
        this.work.trouble = '';
        continue;
      }
      const choices = await this.work.run(async () => {
        const answer = await ask<Choices | { task: string }>('POST', '/api/choose', { body: wish });
        return 'task' in answer ? answer : { ready: answer };
      });
      this.answered = choices ? key : '';
      this.choices = choices;
    }
    this.#asking = false;
  }
}

export const wishes = new Wishes();
