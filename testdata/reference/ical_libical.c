/* Reads iCalendar files with libical and prints one line of JSON per file: the
 * events in a common form, and every error of the parser and of the check
 * against the restrictions of RFC 5545 and RFC 5546.
 *
 * usage: ical_libical FILE...
 * build: cc -O2 ical_libical.c $(pkg-config --cflags --libs libical)
 */
#include <libical/ical.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static int errors;

static void quoted(const char *s)
{
    putchar('"');
    for (; s && *s; s++) {
        unsigned char c = (unsigned char)*s;
        if (c == '"' || c == '\\')
            printf("\\%c", c);
        else if (c < 0x20)
            printf("\\u%04x", c);
        else
            putchar(c);
    }
    putchar('"');
}

static void complain(const char *where, const char *what)
{
    char text[2048];
    snprintf(text, sizeof text, "%s: %s", where, what ? what : "?");
    if (errors++)
        putchar(',');
    quoted(text);
}

/* The parser and the restriction check both leave their errors as properties. */
static void complain_all(icalcomponent *c)
{
    icalproperty *p;
    icalcomponent *sub;
    for (p = icalcomponent_get_first_property(c, ICAL_XLICERROR_PROPERTY); p;
         p = icalcomponent_get_next_property(c, ICAL_XLICERROR_PROPERTY))
        complain(icalcomponent_kind_to_string(icalcomponent_isa(c)), icalproperty_get_xlicerror(p));
    for (sub = icalcomponent_get_first_component(c, ICAL_ANY_COMPONENT); sub;
         sub = icalcomponent_get_next_component(c, ICAL_ANY_COMPONENT))
        complain_all(sub);
}

static void print_moment(const char *key, icalcomponent *e, icalproperty_kind kind)
{
    icalproperty *p = icalcomponent_get_first_property(e, kind);
    struct icaltimetype t = icaltime_null_time();
    printf(",\"%s\":", key);
    if (p)
        t = icalproperty_get_datetime_with_component(p, e);
    if (icaltime_is_null_time(t)) {
        printf("\"\"");
    } else if (t.is_date) {
        printf("\"%04d-%02d-%02d\"", t.year, t.month, t.day);
    } else if (!t.zone && !icaltime_is_utc(t)) {
        printf("\"floating %04d-%02d-%02dT%02d:%02d:%02d\"", t.year, t.month, t.day, t.hour, t.minute, t.second);
    } else {
        char text[64];
        struct tm utc;
        time_t at = icaltime_as_timet_with_zone(t, t.zone);
        gmtime_r(&at, &utc);
        strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
        printf("\"%s\"", text);
    }
}

static void print_alarms(icalcomponent *e)
{
    icalcomponent *a;
    int n = 0;
    printf(",\"alarms\":[");
    for (a = icalcomponent_get_first_component(e, ICAL_VALARM_COMPONENT); a;
         a = icalcomponent_get_next_component(e, ICAL_VALARM_COMPONENT)) {
        icalproperty *p = icalcomponent_get_first_property(a, ICAL_TRIGGER_PROPERTY);
        if (p)
            printf("%s%d", n++ ? "," : "", icaldurationtype_as_int(icalproperty_get_trigger(p).duration));
    }
    printf("]");
}

static void print_text(const char *key, const char *text)
{
    printf(",\"%s\":", key);
    quoted(text);
}

static void print_party(icalproperty *p, const char *address)
{
    icalparameter *name = p ? icalproperty_get_first_parameter(p, ICAL_CN_PARAMETER) : NULL;
    printf("{\"name\":");
    quoted(name ? icalparameter_get_cn(name) : "");
    printf(",\"address\":");
    quoted(address);
    printf("}");
}

static void print_parties(icalcomponent *e)
{
    icalproperty *p = icalcomponent_get_first_property(e, ICAL_ORGANIZER_PROPERTY);
    int n = 0;
    printf(",\"organizer\":");
    print_party(p, p ? icalproperty_get_organizer(p) : "");
    printf(",\"attendees\":[");
    for (p = icalcomponent_get_first_property(e, ICAL_ATTENDEE_PROPERTY); p;
         p = icalcomponent_get_next_property(e, ICAL_ATTENDEE_PROPERTY)) {
        if (n++)
            putchar(',');
        print_party(p, icalproperty_get_attendee(p));
    }
    printf("]");
}

static void print_event(icalcomponent *root, icalcomponent *e)
{
    icalproperty *method = icalcomponent_get_first_property(root, ICAL_METHOD_PROPERTY);
    icalproperty *status = icalcomponent_get_first_property(e, ICAL_STATUS_PROPERTY);
    icalproperty *transp = icalcomponent_get_first_property(e, ICAL_TRANSP_PROPERTY);
    printf("{\"uid\":");
    quoted(icalcomponent_get_uid(e));
    print_moment("start", e, ICAL_DTSTART_PROPERTY);
    print_moment("end", e, ICAL_DTEND_PROPERTY);
    print_text("summary", icalcomponent_get_summary(e));
    print_text("description", icalcomponent_get_description(e));
    print_text("location", icalcomponent_get_location(e));
    print_text("status", status ? icalproperty_status_to_string(icalproperty_get_status(status)) : "");
    printf(",\"sequence\":%d", icalcomponent_get_sequence(e));
    printf(",\"transparent\":%s",
           transp && icalproperty_get_transp(transp) == ICAL_TRANSP_TRANSPARENT ? "true" : "false");
    print_alarms(e);
    print_text("method", method ? icalproperty_method_to_string(icalproperty_get_method(method)) : "");
    print_parties(e);
    printf("}");
}

static char *whole_file(const char *path)
{
    FILE *f = fopen(path, "rb");
    char *text = NULL;
    long size;
    if (!f)
        return NULL;
    fseek(f, 0, SEEK_END);
    size = ftell(f);
    rewind(f);
    text = malloc(size + 1);
    if (fread(text, 1, size, f) != (size_t)size)
        size = 0;
    text[size] = 0;
    fclose(f);
    return text;
}

static void print_file(const char *path)
{
    char *text = whole_file(path);
    icalcomponent *root = text ? icalparser_parse_string(text) : NULL;
    icalcomponent *e;
    int n = 0;
    errors = 0;
    printf("{\"file\":");
    quoted(path);
    printf(",\"errors\":[");
    if (!root) {
        complain("parse", text ? icalerror_perror() : "cannot read the file");
    } else if (icalcomponent_isa(root) != ICAL_VCALENDAR_COMPONENT) {
        complain("parse", "not one VCALENDAR");
    } else {
        complain_all(root);
        icalcomponent_strip_errors(root);
        if (!icalrestriction_check(root))
            complain("restriction", "failed");
        complain_all(root);
    }
    printf("],\"events\":[");
    for (e = root ? icalcomponent_get_first_component(root, ICAL_VEVENT_COMPONENT) : NULL; e;
         e = icalcomponent_get_next_component(root, ICAL_VEVENT_COMPONENT)) {
        if (n++)
            putchar(',');
        print_event(root, e);
    }
    printf("]}\n");
    if (root)
        icalcomponent_free(root);
    free(text);
}

int main(int argc, char **argv)
{
    int i;
    icalerror_set_errors_are_fatal(0);
    for (i = 1; i < argc; i++)
        print_file(argv[i]);
    return 0;
}
