/* The file, for machines whose C library has files. */
#include "files.h"

#include <stdio.h>

#include "carry.h"

static FILE* file;

int files_open(const char* name, const char* how) {
  file = fopen(name, how);
  return file == NULL ? -1 : 0;
}

int files_close(void) {
  FILE* closing = file;
  file = NULL;
  return closing == NULL || fclose(closing) != 0 ? -1 : 0;
}

int file_read(unsigned char* to) {
  int count = (int)fread(to, 1, BLOCK_SIZE, file);
  return count == 0 && ferror(file) ? -1 : count;
}

int file_write(const unsigned char* from, unsigned char count) {
  return fwrite(from, 1, count, file) == count ? 0 : -1;
}
