// Prints one line for each word of the CMU pronouncing dictionary: the word, how many
// syllables its pronunciations have (with commas, without repeats), and how many the
// library "syllable" counts.
//
// usage: node syllables_en.mjs
import { dictionary } from "cmu-pronouncing-dictionary";
import { syllable } from "syllable";

const counts = new Map();
for (const [entry, sounds] of Object.entries(dictionary)) {
  const word = entry.replace(/\(\d+\)$/, "");
  const vowels = sounds.split(" ").filter((sound) => /\d$/.test(sound)).length;
  counts.set(word, (counts.get(word) ?? new Set()).add(vowels));
}
const lines = [];
for (const [word, heard] of counts) lines.push(`${word} ${[...heard].sort().join(",")} ${syllable(word)}`);
process.stdout.write(lines.join("\n") + "\n");
