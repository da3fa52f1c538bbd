// What to show instead of a character that a station lacks.
#pragma once

namespace stationer::server {

// A simpler character that a reader takes for `c`, always one cell for one cell so that columns
// keep their places: the letter without its accent, + - | for box drawing, L for the pound sign, (
// for [. The answer may itself be lacking and have a substitute; following them always ends within
// three steps, at a character that every set of ISO 646 has (ECMA-6: letters, digits and ! " % & '
// ( ) * + , - . / : ; < = > ? _). Zero when there is none.
char32_t substitute(char32_t c);

// The capital for `c` in ASCII and Latin-1; others come back as they are.
char32_t capital(char32_t c);

// How many columns `c` takes: 0 for marks that combine with the letter before and for signs that
// only steer layout, 2 for wide East Asian characters and pictographs, 1 otherwise.
// By the blocks of Unicode Standard Annex #11; exact for what old stations can show.
int cells(char32_t c);

// Signs that change the direction or joining of the text around them, and so can make a name look
// like another one. They are never shown.
bool steers_layout(char32_t c);

}  // namespace stationer::server
