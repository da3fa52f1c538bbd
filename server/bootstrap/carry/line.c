/* The line, for machines that have to look whether a byte has come. What the machine's serial chip
 * wants stands in its machine.h:
 *
 *   LINE_CAME()     not 0 when a byte has come
 *   LINE_TAKE()     that byte
 *   LINE_FREE()     not 0 when a byte may go
 *   LINE_GIVE(b)    lets it go
 *   LINE_SET_UP()   speed and form, if nobody else sets them
 *   STOP_KEY()      not 0 when somebody presses a key to stop it; leave it out if there is none
 *   LOOKS           how often this machine looks in a tenth of a second. Count with a watch: a
 *                   receiver that nobody answers must say C every three seconds */
#include "carry.h"
#include "machine.h"

int line_get(unsigned char tenths) {
  unsigned looks;
  if (LINE_CAME()) return LINE_TAKE() & 0xFF;
  do {
    for (looks = tenths == 0 ? 0 : LOOKS; looks != 0; --looks) {
      if (LINE_CAME()) return LINE_TAKE() & 0xFF;
    }
#ifdef STOP_KEY
    if (STOP_KEY()) return LINE_STOP;
#endif
  } while (tenths != 0 && --tenths != 0);
  return LINE_SILENT;
}

void line_put(unsigned char byte) {
  while (!LINE_FREE()) {
  }
  LINE_GIVE(byte);
}

void line_open(void) {
  LINE_SET_UP();
}

void line_close(void) {}
