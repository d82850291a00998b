/* Reads an iCalendar file with libical and prints how many events a second it
 * turns back into text, over at least half a second; parsing is not counted.
 *
 * usage: ical_libical_speed FILE
 * build: cc -O2 ical_libical_speed.c $(pkg-config --cflags --libs libical)
 */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static char *line_of(char *s, size_t size, void *file)
{
    return fgets(s, (int)size, file);
}

static icalcomponent *parsed(const char *path)
{
    FILE *f = fopen(path, "rb");
    icalparser *parser = icalparser_new();
    icalcomponent *root;
    if (!f)
        return NULL;
    icalparser_set_gen_data(parser, f);
    root = icalparser_parse(parser, line_of);
    icalparser_free(parser);
    fclose(f);
    return root;
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return t.tv_sec + t.tv_nsec / 1e9;
}

int main(int argc, char **argv)
{
    icalcomponent *root = argc == 2 ? parsed(argv[1]) : NULL;
    int events = root ? icalcomponent_count_components(root, ICAL_VEVENT_COMPONENT) : 0;
    double start, spent;
    long done = 0;
    if (!events) {
        fprintf(stderr, "usage: %s FILE with events\n", argv[0]);
        return 1;
    }
    start = now();
    do {
        char *text = icalcomponent_as_ical_string_r(root);
        if (strlen(text) < (size_t)events)
            return 1;
        icalmemory_free_buffer(text);
        done += events;
        spent = now() - start;
    } while (spent < 0.5);
    printf("%.0f\n", done / spent);
    icalcomponent_free(root);
    return 0;
}
