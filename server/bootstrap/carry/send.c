#include "carry.h"

#define MOST_SILENCE 120 /* seconds */
#define MOST_TRIES 10
#define AGAIN (-3)

static unsigned char block[BLOCK_SIZE];
static unsigned char with_crc;

/* What the receiver says first: which check it wants. Older ones want sums. */
static int wait_for_start(void) {
  unsigned char silence = 0;
  unsigned char cancels = 0;
  int byte;
  for (;;) {
    byte = line_get(SECOND);
    if (byte == 'C' || byte == NAK) {
      with_crc = (unsigned char)(byte == 'C');
      return CARRY_DONE;
    }
    if (byte == LINE_STOP) {
      cancel_it();
      return CARRY_STOPPED;
    }
    if (byte == CAN && ++cancels == 2) return CARRY_BROKEN_OFF;
    if (byte != CAN) cancels = 0;
    if (byte == LINE_SILENT && ++silence == MOST_SILENCE) return CARRY_SILENT;
  }
}

/* Answers still on their way belong to what was sent before. */
static void forget_answers(void) {
  unsigned char most = 255;
  while (line_get(0) >= 0 && --most != 0) {
  }
}

static void put_block(unsigned char number) {
  unsigned char i;
  unsigned check = 0;
  forget_answers();
  line_put(SOH);
  line_put(number);
  line_put((unsigned char)(255 - number));
  for (i = 0; i < BLOCK_SIZE; ++i) line_put(block[i]);
  if (with_crc) {
    check = crc_of(block, BLOCK_SIZE);
    line_put((unsigned char)(check >> 8));
  } else {
    for (i = 0; i < BLOCK_SIZE; ++i) check += block[i];
  }
  line_put((unsigned char)(check & 0xFF));
}

/* CARRY_DONE: the receiver has it. AGAIN: it wants it once more. Until it has the first block, a
 * receiver may ask by C; one that comes at once was on its way before the block. */
static int wait_for_answer(unsigned char is_first, unsigned char seconds) {
  unsigned char silence = 0;
  unsigned char cancels = 0;
  int byte;
  for (;;) {
    byte = line_get(SECOND);
    if (byte == ACK) return CARRY_DONE;
    if (byte == NAK || (byte == 'C' && is_first && silence != 0)) return AGAIN;
    if (byte == LINE_STOP) {
      cancel_it();
      return CARRY_STOPPED;
    }
    if (byte == CAN && ++cancels == 2) return CARRY_BROKEN_OFF;
    if (byte != CAN) cancels = 0;
    if (byte == LINE_SILENT && ++silence == seconds) return CARRY_SILENT;
  }
}

static int send_end(void) {
  unsigned char tries;
  int answer;
  for (tries = 0; tries < MOST_TRIES; ++tries) {
    forget_answers();
    line_put(EOT);
    answer = wait_for_answer(0, 10);
    if (answer != AGAIN && answer != CARRY_SILENT) return answer;
  }
  return CARRY_SILENT;
}

int send_file(void) {
  unsigned char number = 1;
  unsigned char is_first = 1;
  unsigned char tries;
  int count;
  int answer = wait_for_start();
  if (answer != CARRY_DONE) return answer;
  for (;;) {
    count = file_read(block);
    if (count < 0) {
      cancel_it();
      return CARRY_NO_FILE;
    }
    if (count == 0) return send_end();
    for (; count < BLOCK_SIZE; ++count) block[count] = SUB;
    tries = 0;
    do {
      if (++tries > MOST_TRIES) {
        cancel_it();
        return CARRY_BAD_LINE;
      }
      put_block(number);
      answer = wait_for_answer(is_first, MOST_SILENCE);
    } while (answer == AGAIN);
    if (answer != CARRY_DONE) return answer;
    is_first = 0;
    number = (unsigned char)(number + 1);
  }
}
