import '../made-code.js';
import { profileOf } from '@fettle/geom';
import type { ProfileAnswer, ProfileQuestion } from './profile-finder.js';
import { refusalOf } from './refusal.js';

addEventListener('message', ({ data }: MessageEvent<ProfileQuestion>) => {
  postMessage(answerTo(data));
});

function answerTo(question: ProfileQuestion): ProfileAnswer {
  try {
    return { found: profileOf(...question) };
  } catch (error) {
    return { refusal: refusalOf(error) };
  }
}
