/* A Z80 with nothing but memory: it receives a file into it, and sends it back from there. */
#include "carry.h"
#include "machine.h"
#include "memory.h"

#define FILE_START ((unsigned char*)0x9000)
#define FILE_LIMIT ((unsigned char*)0xE000)

void sim_put(unsigned char byte) {
  INTERFACE = 'w';
  INTERFACE = byte;
}

static unsigned char sim_get(void) {
  do {
    INTERFACE = 'f';
  } while (!INTERFACE);
  INTERFACE = 'r';
  return INTERFACE;
}

unsigned char sim_answer(unsigned char question) {
  sim_put(question);
  return sim_get();
}

void sim_give(unsigned char byte) {
  sim_put('>');
  sim_put(byte);
}

void main(void) {
  int result;
  memory_end = FILE_START;
  memory_limit = FILE_LIMIT;
  result = receive_file();
  if (result == CARRY_DONE) {
    sim_answer('=');
    memory_next = FILE_START;
    result = send_file();
  }
  sim_put('.');
  sim_put((unsigned char)result);
  INTERFACE = 's';
}
