import '../made-code.js';
import type { ProfileAnswer, ProfileQuestion } from './profile-finder.js';
import { outlineView } from './profile-view.js';
import { refusalOf } from './refusal.js';

addEventListener('message', ({ data }: MessageEvent<ProfileQuestion>) => {
  postMessage(answerTo(data));
});

function answerTo(question: ProfileQuestion): ProfileAnswer {
  try {
    return { found: outlineView(...question) };
  } catch (error) {
    return { refusal: refusalOf(error) };
  }
}
