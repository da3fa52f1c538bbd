/* How a simulated 6502 asks `simulated` for its line: see there. */
#include <unistd.h>

#include "machine.h"

static unsigned char answer_to(unsigned char question) {
  unsigned char answer;
  write(1, &question, 1);
  read(0, &answer, 1);
  return answer;
}

int sim_came(void) {
  return answer_to('?');
}
int sim_take(void) {
  return answer_to('<');
}

void sim_give(unsigned char byte) {
  static unsigned char message[2] = {'>', 0};
  message[1] = byte;
  write(1, message, 2);
}
