#ifndef FILES_H
#define FILES_H

/* Not 0 when it does not work. */
int files_open(const char* name, const char* how);
int files_close(void);

#endif
