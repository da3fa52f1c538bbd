/* The file, for machines without files: a piece of memory. */
#include "memory.h"

#include "carry.h"

unsigned char* memory_end;
unsigned char* memory_limit;
unsigned char* memory_next;

int file_read(unsigned char* to) {
  int count = 0;
  while (count < BLOCK_SIZE && memory_next != memory_end) {
    *to++ = *memory_next++;
    ++count;
  }
  return count;
}

int file_write(const unsigned char* from, unsigned char count) {
  while (count-- != 0) {
    if (memory_end == memory_limit) return -1;
    *memory_end++ = *from++;
  }
  return 0;
}
