"""Divides words with pyphen, which takes its patterns from Debian's hyphen-* packages.

usage: hyphenate.py LANGUAGE < words
Reads one word a line and prints it divided with "=". Exit code 3: no patterns for the language.
"""

import sys

import pyphen

language = sys.argv[1]
if pyphen.language_fallback(language) is None:
    sys.exit(3)
dictionary = pyphen.Pyphen(lang=pyphen.language_fallback(language), left=2, right=2)
sys.stdin.reconfigure(encoding="utf-8")
sys.stdout.reconfigure(encoding="utf-8")
for line in sys.stdin:
    print(dictionary.inserted(line.strip(), hyphen="="))
