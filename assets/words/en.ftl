## words
language-name = English
words-settings-language = Language
