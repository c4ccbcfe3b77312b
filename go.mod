module bagwatch

go 1.26.0
