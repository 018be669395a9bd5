# Reads the control file of a libFuzzer merge and prints the files that reach most, one after the other: each adds the
# most edges to those before it. -v most=N stops after N.
NR == 1 { files = $1; next }
NR == 2 { next }
NR <= files + 2 { path[NR - 3] = $0; next }
$1 == "FT" { reached[$2] = substr($0, length($1 $2) + 3) }
END {
    for (n = 0; n < most; n++) {
        best = ""; gain = 0
        for (id in reached) {
            count = split(reached[id], edges, " ")
            # What adds less than the best one has cannot win.
            if (count <= gain) continue
            fresh = 0
            left = ""
            for (i = 1; i <= count; i++) if (!(edges[i] in seen)) { fresh++; left = left edges[i] " " }
            if (fresh == 0) { delete reached[id]; continue }
            reached[id] = left
            if (fresh > gain) { gain = fresh; best = id }
        }
        if (gain == 0) break
        print path[best]
        count = split(reached[best], edges, " ")
        for (i = 1; i <= count; i++) seen[edges[i]] = 1
        delete reached[best]
    }
}
