"""What everybody in a hall knows, so that a password made of nothing else is no secret."""

WORDS_OF_THE_SPORT = (
    # Who and where.
    *("gymnastics", "gymnastic", "gymnast", "gymnasium", "gym", "athletics", "athlete", "acrobat"),
    *("coach", "trainer", "training", "junior", "senior", "youth", "team", "squad", "club"),
    *("sports", "sport", "hall", "meet", "competition", "champion", "championship", "federation"),
    *("judge", "jury", "volunteer", "helper", "owner", "admin", "olympic", "olympics", "olympia"),
    # What stands there.
    *("apparatus", "unevenbars", "uneven", "parallel", "horizontal", "highbar", "lowbar", "bars"),
    *("bar", "rail", "rails", "rings", "ring", "pommel", "horse", "balance", "beam", "vault"),
    *("table", "floor", "tumbling", "tumble", "trampoline", "springboard", "mats", "mat", "chalk"),
    *("grip", "grips", "leotard", "rope", "ribbon", "hoop", "clubs", "ball"),
    # What is done there.
    *("handstand", "cartwheel", "somersault", "salto", "flip", "flicflac", "kip", "swing", "giant"),
    *("dismount", "mount", "release", "routine", "rotation", "landing", "score", "perfect", "ten"),
    *("medal", "gold", "silver", "bronze", "win", "winner", "settings", "setting", "desk", "card"),
    # The same in other languages that are spoken in halls.
    *("turnen", "turner", "turnerin", "turnverein", "turnhalle", "verein", "kunstturnen", "reck"),
    *("barren", "stufenbarren", "schwebebalken", "balken", "sprung", "boden", "ringe", "pauschen"),
    *("gymnastique", "gymnaste", "barres", "poutre", "agres", "anneaux", "entraineur", "salle"),
    *("gimnasia", "gimnasta", "ginnastica", "ginnasta", "ginastica", "ginasta", "gimnastyka"),
    *("paralelas", "parallele", "asimetricas", "barras", "trave", "viga", "anillas", "anelli"),
    *("entrenador", "allenatore", "treinador", "trener", "voltige", "suelo", "corpo", "libero"),
    *("gymnastik", "turnen", "turnster", "telovadba", "voimistelu", "fimleikar", "tornasport"),
    *("gimnastika", "taiso", "tekkyo", "sokol"),
)
"""In lower case. Short ones count too: they are struck out longest first."""

ROWS_OF_KEYS = (
    *("1234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm"),
    *("qwertzuiop", "yxcvbnm", "azertyuiop", "qsdfghjklm", "wxcvbn"),
    *("abcdefghijklmnopqrstuvwxyz", "147258369", "qazwsxedcrfvtgbyhnujmikolp"),
)
"""Keys that lie beside each other, and the alphabet."""
