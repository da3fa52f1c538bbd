/* The program for machines with a command line and files:
 *
 *   carry r NAME    receives a file and calls it NAME
 *   carry s NAME    sends the file NAME
 *
 * NO_REMOVE is for C libraries that can't remove files: what came by half then stays. */
#include <stdio.h>

#include "carry.h"
#include "files.h"

static const char* words_for(int result) {
  switch (result) {
    case CARRY_DONE: return "Done.";
    case CARRY_SILENT: return "The other end does not answer.";
    case CARRY_BAD_LINE: return "The line is too bad: a block failed ten times.";
    case CARRY_BROKEN_OFF: return "The other end broke it off.";
    case CARRY_STOPPED: return "You broke it off.";
    case CARRY_LOST: return "The two ends lost each other. Try again.";
    default: return "The file can't be read or written any more.";
  }
}

/* Not on standard output, which may be the line. */
static void say(const char *words) {
  fputs(words, stderr);
  fputs("\n", stderr);
}

int main(int argc, char** argv) {
  char way = (char)(argc == 3 ? argv[1][0] | 0x20 : 0); /* small letters, in ASCII */
  int result;
  if (way != 'r' && way != 's') {
    say("carry r NAME receives a file, carry s NAME sends one.");
    return 2;
  }
  if (files_open(argv[2], "rb") == 0 && way == 'r') {
    files_close();
    say("There is a file of that name already.");
    return 2;
  }
  if (way == 'r' && files_open(argv[2], "wb") != 0) {
    say("A file of that name can't be made.");
    return 2;
  }
  line_open();
  result = way == 'r' ? receive_file() : send_file();
  line_close();
  if (files_close() != 0 && result == CARRY_DONE) result = CARRY_NO_FILE;
#ifndef NO_REMOVE
  if (way == 'r' && result != CARRY_DONE) remove(argv[2]);
#endif
  say(words_for(result));
  return result;
}
