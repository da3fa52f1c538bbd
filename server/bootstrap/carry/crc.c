#include "carry.h"

/* Eight steps of the division at once: what they fold back into the sum depends on the byte that
 * goes in alone, and 1021 has its ones at bits 12, 5 and 0. */
unsigned crc_of(const unsigned char* data, unsigned char size) {
  unsigned crc = 0;
  unsigned folded;
  while (size-- != 0) {
    folded = (crc >> 8) ^ *data++;
    folded ^= folded >> 4;
    crc = ((crc << 8) ^ (folded << 12) ^ (folded << 5) ^ folded) & 0xFFFFu;
  }
  return crc;
}
