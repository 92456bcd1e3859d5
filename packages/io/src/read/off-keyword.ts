/** The word an OFF file begins with: what its vertices have beside coordinates, texture (ST), colors (C), normals (N), four or more dimensions (4, n). */
export const offKeyword = /^(ST)?(C)?(N)?(4)?(n)?OFF$/;
