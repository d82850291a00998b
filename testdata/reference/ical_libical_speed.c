/* Reads an iCalendar file with libical and prints how many events it turns back into
 * text in a second of the processor's time, over at least half a second; neither
 * parsing nor the first time, which warms up, is counted. With "text" behind the file
 * it prints the text.
 *
 * usage: ical_libical_speed FILE [text]
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

/* Writes all once and returns how long the text is. */
static size_t write_once(icalcomponent *root)
{
    char *text = icalcomponent_as_ical_string_r(root);
    size_t length = strlen(text);
    icalmemory_free_buffer(text);
    return length;
}

static void print_text(icalcomponent *root)
{
    char *text = icalcomponent_as_ical_string_r(root);
    fputs(text, stdout);
    icalmemory_free_buffer(text);
}

static double speed(icalcomponent *root, int events)
{
    size_t length = write_once(root);
    clock_t start = clock();
    double spent;
    long done = 0;
    do {
        if (write_once(root) != length)
            return 0;
        done += events;
        spent = (double)(clock() - start) / CLOCKS_PER_SEC;
    } while (spent < 0.5);
    return done / spent;
}

int main(int argc, char **argv)
{
    icalcomponent *root = argc > 1 ? parsed(argv[1]) : NULL;
    int events = root ? icalcomponent_count_components(root, ICAL_VEVENT_COMPONENT) : 0;
    if (!events) {
        fprintf(stderr, "usage: %s FILE with events [text]\n", argv[0]);
        return 1;
    }
    if (argc > 2 && !strcmp(argv[2], "text"))
        print_text(root);
    else
        printf("%.0f\n", speed(root, events));
    icalcomponent_free(root);
    return 0;
}
