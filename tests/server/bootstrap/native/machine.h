/* The line of a machine that is simulated by the test it runs in. */
#ifndef MACHINE_H
#define MACHINE_H

int native_came(void);
int native_take(void);
void native_give(int byte);
int native_stop(void);

#define LINE_CAME() native_came()
#define LINE_TAKE() native_take()
#define LINE_FREE() 1
#define LINE_GIVE(b) native_give(b)
#define LINE_SET_UP()
#define STOP_KEY() native_stop()
#define LOOKS 10

#endif
