// What we use of clipper-lib 6.4.2; it brings no types. The enums are plain numbers there and differ from what one expects
// (etClosedPolygon is 4, jtMiter 2), and a missing one counts as 0 = an open line: hence closed unions of the real values.
declare module "clipper-lib" {
  interface IntPoint {
    X: number;
    Y: number;
  }
  type Ring = IntPoint[];

  interface PolyNode {
    Contour(): Ring;
    Childs(): PolyNode[];
  }
  type PolyTree = PolyNode;

  interface Clipper {
    AddPaths(rings: Ring[], polyType: 0 | 1, closed: boolean): boolean;
    Execute(clipType: 0 | 1 | 2 | 3, solution: PolyTree, subjectFill: 0 | 1 | 2, clipFill: 0 | 1 | 2): boolean;
  }

  interface ClipperOffset {
    AddPaths(rings: Ring[], joinType: 0 | 1 | 2, endType: 0 | 1 | 2 | 3 | 4): void;
    Execute(solution: PolyTree, delta: number): void;
  }

  const ClipperLib: {
    Clipper: new (options?: number) => Clipper;
    ClipperOffset: new (miterLimit: number, arcTolerance: number) => ClipperOffset;
    PolyTree: new () => PolyTree;
    PolyType: { ptSubject: 0; ptClip: 1 };
    ClipType: { ctIntersection: 0; ctUnion: 1; ctDifference: 2; ctXor: 3 };
    PolyFillType: { pftEvenOdd: 0; pftNonZero: 1; pftPositive: 2 };
    JoinType: { jtSquare: 0; jtRound: 1; jtMiter: 2 };
    EndType: { etOpenSquare: 0; etOpenRound: 1; etOpenButt: 2; etClosedLine: 3; etClosedPolygon: 4 };
  };
  export default ClipperLib;
}
