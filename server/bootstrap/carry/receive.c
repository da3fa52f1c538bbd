#include "carry.h"

#define MOST_CALLS 40 /* of three seconds, until the sender begins */
#define MOST_TRIES 10
#define SPOILT (-3)

static unsigned char block[BLOCK_SIZE];
static unsigned char filling; /* SUB bytes kept back: left out if nothing follows */

void cancel_it(void) {
  unsigned char i;
  for (i = 0; i < 8; ++i) line_put(CAN);
}

/* The rest of a block that has begun: its number, or why there is none. */
static int read_block(void) {
  int number;
  int against;
  int byte;
  unsigned char i;
  unsigned check;
  number = line_get(SECOND);
  if (number < 0) return number;
  against = line_get(SECOND);
  if (against < 0) return against;
  for (i = 0; i < BLOCK_SIZE; ++i) {
    byte = line_get(SECOND);
    if (byte < 0) return byte;
    block[i] = (unsigned char)byte;
  }
  byte = line_get(SECOND);
  if (byte < 0) return byte;
  check = (unsigned)byte << 8;
  byte = line_get(SECOND);
  if (byte < 0) return byte;
  check |= (unsigned)byte;
  if (number + against != 255 || check != crc_of(block, BLOCK_SIZE)) return SPOILT;
  return number;
}

/* What still comes of a spoilt block would be misunderstood: it is let go by, until the line has
 * been silent for a second. */
static int let_go_by(void) {
  unsigned most = 2000;
  int byte;
  do {
    byte = line_get(SECOND);
  } while (byte >= 0 && --most != 0);
  return byte;
}

static int store(void) {
  static const unsigned char sub = SUB;
  unsigned char count = BLOCK_SIZE;
  for (; filling != 0; --filling) {
    if (file_write(&sub, 1) != 0) return -1;
  }
  while (count != 0 && block[count - 1] == SUB) --count;
  filling = (unsigned char)(BLOCK_SIZE - count);
  return count == 0 ? 0 : file_write(block, count);
}

int receive_file(void) {
  unsigned char expected = 1;
  unsigned char started = 0;
  unsigned char tries = 0;
  unsigned char before = 0; /* an EOT or a CAN that came just before: it takes two of each */
  int byte;
  int number;
  filling = 0;
  line_put('C');
  for (;;) {
    byte = line_get((unsigned char)(started ? 10 * SECOND : 3 * SECOND));
    if (byte == CAN || byte == EOT) {
      if (byte == before && byte == CAN) return CARRY_BROKEN_OFF;
      if (byte == before) {
        line_put(ACK);
        return CARRY_DONE;
      }
      before = (unsigned char)byte;
      if (byte == EOT) line_put(NAK);
      if (++tries <= MOST_TRIES) continue;
    }
    before = 0;
    if (byte == SOH) {
      number = read_block();
      if (number == expected) {
        if (store() != 0) {
          cancel_it();
          return CARRY_NO_FILE;
        }
        expected = (unsigned char)(expected + 1);
        started = 1;
        tries = 0;
        line_put(ACK);
        continue;
      }
      if (started && number == ((expected - 1) & 0xFF)) {
        /* It did not hear that we have it. */
        tries = 0;
        line_put(ACK);
        continue;
      }
      if (number >= 0) {
        cancel_it();
        return CARRY_LOST;
      }
      byte = number;
    }
    if (byte != LINE_SILENT && byte != LINE_STOP) byte = let_go_by();
    if (byte == LINE_STOP) {
      cancel_it();
      return CARRY_STOPPED;
    }
    if (++tries > (started ? MOST_TRIES : MOST_CALLS)) {
      cancel_it();
      return started ? CARRY_BAD_LINE : CARRY_SILENT;
    }
    line_put((unsigned char)(started ? NAK : 'C'));
  }
}
